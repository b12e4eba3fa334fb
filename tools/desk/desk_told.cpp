// What the desk tells its pages, ten times a second, of which only changes are sent.
#include <algorithm>
#include <ctime>
#include <filesystem>
#include <system_error>
#include <utility>

#include "tools/desk/desk.hpp"
#include "tools/desk/plant_told.hpp"
#include "tools/desk/rehearsal_told.hpp"
#include "tools/desk/work_words.hpp"
#include "tools/examples/templates.hpp"
#include "tools/program/own_files.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

constexpr proto::Duration beginnings_every = proto::seconds(3);

std::string hour_of(std::int64_t seconds) {
    const std::time_t at = seconds;
    std::tm parts{};
    localtime_r(&at, &parts);
    char text[32];
    return {text, std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &parts)};
}

Value truth(std::string_view mark, std::string_view word, std::string rest, std::string_view to) {
    return Value::Object{{"mark", mark}, {"word", word}, {"rest", std::move(rest)}, {"to", to}};
}

}  // namespace

Value Desk::told() {
    notice_if_gone();
    const Value bench = bench_ ? bench_->told(file_ && bench_is_old()) : Value();
    Value rehearsed = rehearsal();
    Value truth = truth_told(rehearsed);
    return Value::Object{{"version", settings_.version},
                         {"folder", folder_.whole()},
                         {"now", surroundings_.hour()},
                         {"now_ms", surroundings_.now() - proto::Instant{}},
                         {"file", file_ ? file_told() : Value()},
                         {"beginnings", beginnings()},
                         {"truth", std::move(truth)},
                         {"plant", plant_told_},
                         {"links", links_told_},
                         {"functions", functions_told_},
                         {"problems", problems_told_},
                         {"cautions", cautions_told_},
                         {"lists", lists_told_},
                         {"bench", bench},
                         {"watchdogs", curves_.told()},
                         {"strength", strength()},
                         {"jobs", work_.told(typed_mark())},
                         {"rehearsal", std::move(rehearsed)}};
}

Value Desk::file_told() const {
    Value broken, draft, foreign, saved_at, gone;
    if (typed_ && typed_->broken())
        broken = Value::Object{
            {"line", typed_->broken()->line}, {"key", typed_->broken()->key}, {"message", typed_->broken()->message}};
    if (const auto& found = file_->draft().found())
        draft = Value::Object{
            {"from", hour_of(found->kept_at)}, {"name", file_->name()}, {"file_changed", found->file_changed}};
    if (file_->foreign()) foreign = Value::Object{{"theirs", Value::of(file_->theirs())}, {"mine", file_->text()}};
    if (file_->home().gone())
        gone = Value::Object{{"folder", file_->home().place().folder_path},
                             {"draft", Value::text_or_null(file_->draft().lies_at())}};
    if (file_->saved_at()) saved_at = hour_of(*file_->saved_at());
    const std::string title = typed_ && !typed_->broken() ? typed_->title() : std::string();
    return Value::Object{
        {"name", example_ ? Value() : Value(file_->name())},
        {"title", title},
        {"changed", !example_ && file_->changed()},
        {"in_folder", file_->in_folder()},
        {"saved_at", std::move(saved_at)},
        {"undo", std::uint64_t{file_->edits().undo_steps()}},
        {"redo", std::uint64_t{file_->edits().redo_steps()}},
        {"undo_words", file_->edits().undo_words()},
        {"redo_words", file_->edits().redo_words()},
        {"stamp", file_->stamp()},
        {"example", example_},
        {"writable", file_->home().writable()},
        {"draft_trouble", Value::text_or_null(draft_trouble_)},
        {"typed_elsewhere", file_->draft().elsewhere()},
        {"broken", std::move(broken)},
        {"foreign", std::move(foreign)},
        {"gone", std::move(gone)},
        {"draft", std::move(draft)},
        {"repeat", example_ ? std::string("linkdrill desk") : "linkdrill desk " + shell_word(file_->name())}};
}

Value Desk::truth_told(const Value& rehearsed) const {
    Value::List all;
    if (!file_ || !typed_) return all;
    if (typed_->broken()) {
        all.push_back(truth("warns", "NOT READ",
                            "the file cannot be read, line " + std::to_string(typed_->broken()->line), "text"));
        return all;
    }
    const std::size_t differ = typed_->differences(), unseen = typed_->unseen_differences();
    if (typed_->apart()) {
        all.push_back(truth("differs", "ENDS APART", "they cannot reach each other", "typed"));
    } else if (differ != 0) {
        std::string rest = counted(differ, "setting", "settings");
        if (unseen == differ)
            rest += differ == 1 ? ", which the link does not see" : ", which the link does not see: all of them";
        else if (unseen != 0)
            rest += ", " + std::to_string(unseen) + " of them not seen by the link";
        all.push_back(truth("differs", "ENDS DISAGREE", std::move(rest), unseen == differ ? "bits" : "typed"));
    } else {
        std::uint64_t compared = 0;
        for (std::size_t i = 0; i < typed_->links(); ++i) compared += typed_->ends(i).compared;
        all.push_back(truth("ok", "ENDS AGREE", counted(compared, "setting", "settings") + " compared", "typed"));
    }
    if (const std::size_t problems = typed_->problems().size(); problems != 0)
        all.push_back(
            truth("warns", "PROBLEM", counted(problems, "problem", "problems") + " named below", "functions"));
    const WatchdogCurves::Truth watchdog = curves_.truth();
    all.push_back(truth(watchdog.mark, watchdog.word, watchdog.rest, "watchdog"));
    const DeskWork::Work* const last = work_.latest("rehearse");
    if (last == nullptr || rehearsed_text_ != file_->text()) {
        all.push_back(truth("none", "", "not rehearsed since the last change", "rehearse"));
    } else if (last->child) {
        all.push_back(truth("none", "", "is being rehearsed", "rehearse"));
    } else {
        const std::string verdict = look_up_text(rehearsed, "verdict");
        const bool good = verdict.starts_with("PASS");
        all.push_back(truth(good ? "ok" : "warns", verdict.empty() ? "NOT REHEARSED" : verdict,
                            verdict.empty() ? last->line : "as rehearsed at " + last->begun.substr(0, 5), "rehearse"));
    }
    return all;
}

Value Desk::rehearsal() const {
    const DeskWork::Work* const last = rehearsed_folder_.empty() ? nullptr : work_.latest("rehearse");
    if (last == nullptr || !file_)
        return Value::Object{{"state", "none"},
                             {"verdict", ""},
                             {"sentence", ""},
                             {"rows", Value::List{}},
                             {"demands", Value::List{}},
                             {"files", Value::List{}},
                             {"folder", file_ ? evidence_folder() : std::string()},
                             {"command", ""}};
    std::vector<std::string> files;
    const bool good = last->state == DeskWork::Work::State::done;
    for (const auto& [name, words] : evidence_for_people()) {
        std::error_code ignored;
        if (good && std::filesystem::exists(folder_.path() + "/" + rehearsed_folder_ + "/" + name, ignored))
            files.push_back(name);
    }
    std::string state = rehearsed_text_ == file_->text() ? "current" : "old";
    if (last->child) state = "runs";
    const auto name_of_end = [&](const std::string& link, bool controller) -> std::string {
        const auto number = typed_ && !typed_->broken() ? typed_->link_called(link) : std::nullopt;
        if (!number) return controller ? "controller" : "device";
        const sim::Scenario& found = typed_->link(*number);
        return controller ? found.controller.name : found.device.name;
    };
    // what is saved as it was rehearsed can be rehearsed again by the command
    const bool by_file = is_saved() && rehearsed_text_ == file_->text();
    return rehearsal_told({.document = good ? last->document : Value(),
                           .state = std::move(state),
                           .folder = rehearsed_folder_,
                           .command = by_file ? "linkdrill run " + shell_word(file_->name()) : last->asked.command,
                           .line = last->line,
                           .files = std::move(files),
                           .name_of_end = name_of_end,
                           .saved = rehearsed_text_ == file_->text()});
}

Value Desk::strength() const {
    const DeskWork::Work* const last = work_.latest("residual");
    if (last == nullptr || !file_) return {};
    Value::Object told;
    if (last->state == DeskWork::Work::State::done) {
        const Value words = result_in_words("residual", last->document);
        if (words.object() != nullptr) told = *words.object();
    }
    if (told.empty()) told = {{"sentence", last->child ? "Being reckoned." : last->line}, {"rows", Value::List{}}};
    told.push_back({"old", last->asked.stamp != typed_mark()});
    told.push_back({"command", last->asked.command});
    told.push_back({"runs", last->child.has_value()});
    return told;
}

/// Read anew only where it is another one by now; no draft of it is looked at, which would hold a lock.
Value Desk::listed_told(const std::string& name) {
    const auto place = folder_.place(name);
    if (!place) return {};
    const auto mark = mark_of(place.value());
    if (!mark) return {};
    const auto known = listed_.find(name);
    if (known != listed_.end() && known->second.mark.same(*mark)) return known->second.told;
    const auto read = read_whole(place.value());
    if (!read || !read.value()) return {};
    const std::string& text = read.value()->bytes;
    Listed& listed = listed_[name];
    listed = {read.value()->mark, {}};
    const auto kind = sim::kind_of_text(text, name);
    if (kind && kind.value() != sim::FileKind::scenario) return {};
    const TypedPlant typed(text, folder_.path() + "/" + name);
    listed.told = Value::Object{{"name", name},
                                {"title", typed.broken() ? std::string() : typed.title()},
                                {"broken", typed.broken().has_value()}};
    return listed.told;
}

Value Desk::beginnings() {
    const proto::Instant now = surroundings_.now();
    if (beginnings_at_ && now - *beginnings_at_ < beginnings_every) return beginnings_told_;
    beginnings_at_ = now;
    Value::List templates, files;
    const Value* const before = beginnings_told_.find("templates");
    if (before != nullptr && before->list() != nullptr && !before->list()->empty()) {
        templates = *before->list();  // they ship, and stay as they are
    } else if (const auto folder = shipped_folder("templates")) {
        if (const auto names = names_in(folder.value()))
            for (const std::string& name : names.value()) {
                const auto text = template_text(name);
                if (!text) continue;
                const TypedPlant typed(text.value(), folder_.path() + "/" + name + ".toml");
                if (typed.broken()) continue;
                const std::string& shows = typed.is_cell() ? typed.cell().shows : typed.link(0).shows;
                templates.push_back(Value::Object{{"name", name}, {"shows", shows}, {"plant", plant_told(typed)}});
            }
    }
    constexpr std::size_t shown = 100;
    for (const std::string& name : folder_.toml_files()) {
        if (files.size() >= shown) break;
        if (Value told = listed_told(name); !is_null(told)) files.push_back(std::move(told));
    }
    beginnings_told_ = Value::Object{{"templates", std::move(templates)}, {"files", std::move(files)}};
    return beginnings_told_;
}

}  // namespace tools
