// What is typed at the desk: edits of the file's text, and what becomes of the file.
#include <algorithm>
#include <array>
#include <span>
#include <utility>

#include "sim/scenario/units.hpp"
#include "tools/desk/address_edit.hpp"
#include "tools/desk/desk.hpp"
#include "tools/desk/functions_told.hpp"
#include "tools/desk/plant_told.hpp"
#include "tools/desk/rows_told.hpp"
#include "tools/examples/templates.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// A refusal in the words of the file: which line, which key, and the mend.
std::string in_words(const sim::FileError& error) {
    std::string words = error.key.empty() ? std::string() : error.key + ": ";
    words += error.message;
    if (error.line > 0) words += " (line " + std::to_string(error.line) + ")";
    return words;
}

/// "4 demands, 8 acts, 1 fault": what stands in the file of these.
std::string what_goes(const sim::WrittenFile& file, std::span<const std::string_view> kinds) {
    constexpr std::array<std::pair<const char*, const char*>, 3> words{
        {{"demand", "demands"}, {"act", "acts"}, {"fault", "faults"}}};
    std::string all;
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        const sim::Node* const blocks = file.tree().find(kinds[i]);
        if (blocks == nullptr || blocks->items.empty()) continue;
        all += (all.empty() ? "" : ", ") + counted(blocks->items.size(), words[i].first, words[i].second);
    }
    return all;
}

/// "mine.toml" for "mine": people leave the ending out.
std::string with_ending(std::string name) {
    if (!name.empty() && !name.ends_with(".toml")) name += ".toml";
    return name;
}

}  // namespace

void Desk::take_up(DeskFile file, bool example) {
    file_.emplace(std::move(file));
    example_ = example;
    typed_stamp_ = 0;
    bench_.reset();
    dropped_.clear();
    lists_told_ = {};
    rehearsed_text_.clear();
    rehearsed_folder_.clear();
    kept_text_.clear();
    ++epoch_;
    named_mark_ = 0;
    looked_around_.reset();
    edited_at_.reset();
    draft_trouble_.clear();
    retype();
    if (typed_ && !typed_->broken()) begin_bench(sim::DeskBench::Begin::by_hand);
}

void Desk::retype(std::shared_ptr<const TypedPlant> typed) {
    if (!file_ || typed_stamp_ == file_->stamp()) return;
    typed_stamp_ = file_->stamp();
    if (!edited_at_) edited_at_ = surroundings_.now();
    const std::string path = folder_.path() + "/" + file_->name();
    if (typed == nullptr) typed = std::make_shared<const TypedPlant>(file_->text(), path);
    typed_ = typed;
    written_.reset();
    plant_told_ = links_told_ = functions_told_ = problems_told_ = cautions_told_ = Value();
    lists_told_ = {};
    if (!typed->broken()) {
        auto written = sim::WrittenFile::of(file_->text(), path);
        if (written) written_.emplace(std::move(written).value());
    }
    if (typed->broken() || !written_)
        return curves_.ask({.typed = nullptr, .why_not = "the file cannot be read"}, surroundings_.now());
    plant_told_ = plant_told(*typed);
    links_told_ = links_told(*typed, *written_);
    FunctionsTold functions = functions_told(*typed);
    functions_told_ = std::move(functions.rows);
    problems_told_ = std::move(functions.problems);
    cautions_told_ = std::move(functions.cautions);
    ask_curves();
}

DeskAnswer Desk::begin(const Fields& fields) {
    if (file_ && example_ && file_->edits().undo_steps() > 0 && field(fields, "leave") != "yes") {
        DeskAnswer answer{.error =
                              "What you typed in the example is in no file yet: save it under a name first, or "
                              "leave it."};
        Value::Object again{{"leave", "yes"}};
        for (const auto& [key, value] : fields) again.push_back({key, value});
        answer.mend = Value::Object{{"words", "Leave it"}, {"path", "/api/begin"}, {"fields", std::move(again)}};
        return answer;
    }
    if (file_ && !example_ && file_->changed() && field(fields, "leave") != "yes") {
        // nothing is lost: what was typed lies in its draft, and is offered when the file is opened again
        if (const auto failure = file_->keep_draft()) return {.error = failure->one_line()};
    }
    if (const std::string name = field(fields, "file"); !name.empty()) {
        auto file = DeskFile::open(folder_, name);
        if (!file) return {.error = file.error().one_line()};
        take_up(std::move(file).value(), false);
        return {};
    }
    const std::string wanted = field(fields, "template");
    auto text = template_text(wanted);
    if (!text || wanted.find('/') != std::string::npos || wanted.find("..") != std::string::npos)
        return {.error = "there is no template " + in_quotes(wanted)};
    std::string name = with_ending(field(fields, "name"));
    if (name.empty()) {
        // the first name that is free
        for (int i = 1; i < 1000; ++i) {
            name = wanted + (i == 1 ? "" : "_" + std::to_string(i)) + ".toml";
            auto file = DeskFile::begin(folder_, name, text.value());
            if (!file) continue;
            take_up(std::move(file).value(), false);
            return {};
        }
    }
    auto file = DeskFile::begin(folder_, name, std::move(text).value());
    if (!file) return {.error = file.error().one_line()};
    take_up(std::move(file).value(), false);
    return {};
}

DeskAnswer Desk::edited(const std::string& text, const std::string& words, bool may_break) {
    auto tried = std::make_shared<const TypedPlant>(text, folder_.path() + "/" + file_->name());
    if (!may_break && tried->broken()) return {.error = in_words(*tried->broken())};
    if (const auto failure = file_->edit(text, words)) return {.error = failure->one_line()};
    retype(std::move(tried));
    return {};
}

DeskAnswer Desk::set(const Fields& fields) {
    const std::string path = field(fields, "path"), value = field(fields, "value");
    if (path.empty()) return {.error = "it is not said what is typed"};
    if (auto address = with_address(*written_, path, value)) {
        if (!*address) return {.error = in_words(address->error())};
        return edited(address->value(), path + " " + value, false);
    }
    const bool takes_out = value.find_first_not_of(" \t") == std::string::npos;
    if (takes_out) {
        if (!sim::value_at(*written_, path)) return {};
        auto text = sim::without(*written_, path);
        if (!text) return {.error = in_words(text.error())};
        DeskAnswer answer = edited(text.value(), path + " taken out", false);
        return answer;
    }
    if (auto both = with_one_watchdog(*written_, path, value)) {
        if (!*both) return {.error = in_words(both->error())};
        return edited(both->value(), path + " " + value, false);
    }
    auto as_file = sim::as_toml(*written_, path, value);
    if (!as_file) return {.error = in_words(as_file.error())};
    auto text = sim::with_value(*written_, path, as_file.value());
    if (!text) return {.error = in_words(text.error())};
    return edited(text.value(), path + " " + value, false);
}

DeskAnswer Desk::remove_block(const Fields& fields) {
    const std::string path = field(fields, "path");
    if (field(fields, "do") != "remove" || path.empty()) return {.error = "it is not said which block goes"};
    auto text = sim::without(*written_, path);
    if (!text) return {.error = in_words(text.error())};
    return edited(text.value(), path + " taken out", false);
}

DeskAnswer Desk::put_text(const Fields& fields) { return edited(field(fields, "text"), "the text", true); }

DeskAnswer Desk::save(const Fields& fields) {
    const std::string name = with_ending(field(fields, "name"));
    const bool other_name = !name.empty() && name != file_->name();
    if (example_ && !other_name) return {.error = "this is the example of the desk: give it a name of its own"};
    const DeskFile::SaveAnswer answer = other_name                       ? file_->save_as(name)
                                        : field(fields, "over") == "yes" ? file_->save_over()
                                                                         : file_->save();
    switch (answer.saved) {
        case DeskFile::Saved::done:
            example_ = false;
            edited_at_.reset();
            beginnings_at_.reset();
            if (other_name) typed_stamp_ = 0;  // what it names is looked for from its new place
            retype();
            return {};
        case DeskFile::Saved::foreign:
            return {.error = "somebody else changed " + file_->name() +
                             " since it was read: nothing was saved. See both texts, then take one."};
        case DeskFile::Saved::failed: break;
    }
    return {.error = answer.failure ? answer.failure->one_line() : "it could not be saved"};
}

DeskAnswer Desk::answer_foreign(const Fields& fields) {
    if (!file_->foreign()) return {.error = "nobody else changed the file"};
    if (field(fields, "take") == "theirs") {
        file_->take_theirs();
        retype();
        return {};
    }
    const DeskFile::SaveAnswer answer = file_->save_over();
    if (answer.saved == DeskFile::Saved::failed) return {.error = answer.failure->one_line()};
    if (answer.saved == DeskFile::Saved::foreign) return {.error = "it was changed once more: see both texts again"};
    edited_at_.reset();
    return {};
}

DeskAnswer Desk::answer_draft(const Fields& fields) {
    const auto failure = field(fields, "take") == "yes" ? file_->take_draft() : file_->drop_draft();
    if (failure) return {.error = failure->one_line()};
    retype();
    if (typed_ && !typed_->broken() && !bench_) begin_bench(sim::DeskBench::Begin::by_hand);
    return {};
}

DeskAnswer Desk::keep(const Fields& fields) {
    if (!bench_ || bench_->as_written())
        return {.error = "this bench plays what the file says; begin it by hand, then what you do can be kept"};
    if (bench_is_old())
        return {.error = "the bench runs what was typed at " + bench_->hour() +
                         ": what was done would not fit what is typed now. Begin anew and do it again."};
    if (bench_->bench().acts().empty()) return {.error = "nothing was done yet: interrupt a guard, say"};
    constexpr std::array<std::string_view, 3> kinds{"demand", "operator", "fault"};
    if (const std::string lost = what_goes(*written_, kinds);
        !lost.empty() && file_->text() != kept_text_ && field(fields, "replace") != "yes") {
        DeskAnswer answer{.error = "What you did takes the place of what the file has: " + lost +
                                   " go, with their comments. One undo brings them back."};
        Value::Object again{{"replace", "yes"}};
        for (const auto& [key, value] : fields) again.push_back({key, value});
        answer.mend = Value::Object{{"words", "Replace them"}, {"path", "/api/keep"}, {"fields", std::move(again)}};
        return answer;
    }
    auto text = sim::with_blocks(*written_, kinds, bench_->bench().kept_blocks());
    if (!text) return {.error = in_words(text.error())};
    const std::string path = folder_.path() + "/" + file_->name();
    auto kept = sim::WrittenFile::of(std::move(text).value(), path);
    if (!kept) return {.error = in_words(kept.error())};
    auto timed = sim::with_value(kept.value(), "duration", "\"" + sim::written(bench_->bench().kept_duration()) + "\"");
    if (!timed) return {.error = in_words(timed.error())};
    const bool named = !field(fields, "name").empty();
    DeskAnswer answer = edited(timed.value(), "what was done is kept", false);
    if (!answer.error) kept_text_ = file_->text();
    if (answer.error || !named) {
        begun_text_ = answer.error ? begun_text_ : file_->text();
        return answer;
    }
    // the bench still runs the same plant: only demands, acts and faults are others
    begun_text_ = file_->text();
    return save(fields);
}

}  // namespace tools
