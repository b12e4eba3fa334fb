// What is typed at the desk: edits of the file's text, and what becomes of the file.
#include <algorithm>
#include <utility>

#include "tools/desk/desk.hpp"
#include "tools/desk/functions_told.hpp"
#include "tools/desk/plant_told.hpp"
#include "tools/desk/rows_told.hpp"
#include "tools/desk/value_edit.hpp"
#include "tools/examples/templates.hpp"
#include "tools/text/text.hpp"

namespace tools {

std::string with_ending(std::string name) {
    if (!name.empty() && !name.ends_with(".toml")) name += ".toml";
    return name;
}

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
    const bool leaves = field(fields, "leave") == "yes";
    if (file_ && example_ && file_->edits().undo_steps() > 0 && !leaves) {
        const std::string name = free_name("plant");
        return refuse(Refused::example_typed,
                      "What you typed in the example is in no file yet: save it under a name first, or leave it.",
                      {posting("Save it as " + name, "/api/save", {{"name", name}}),
                       again("Leave it", "/api/begin", fields, {{"leave", "yes"}})});
    }
    if (file_ && !example_ && file_->changed() && !leaves) {
        // nothing is lost: what was typed lies in its draft, and is offered when the file is opened again
        if (const auto failure = file_->keep_draft())
            return refuse(Refused::draft_not_kept, failure->one_line(),
                          {again("Try again", "/api/begin", fields), posting("Save it first", "/api/save")});
    }
    if (const std::string name = field(fields, "file"); !name.empty()) {
        auto file = DeskFile::open(folder_, name);
        if (!file)
            return refuse(Refused::not_opened, file.error().one_line(),
                          {posting("Look at the folder again", "/api/look")});
        take_up(std::move(file).value(), false);
        return {};
    }
    const std::string wanted = field(fields, "template");
    auto text = template_text(wanted);
    if (!text || wanted.find('/') != std::string::npos || wanted.find("..") != std::string::npos)
        return refuse(Refused::no_template,
                      "there is no template " + in_quotes(wanted) +
                          "; they come with linkdrill, so whoever installed it can put them back");
    const std::string typed = with_ending(field(fields, "name"));
    const std::string name = typed.empty() ? free_name(wanted) : typed;
    auto file = DeskFile::begin(folder_, name, std::move(text).value());
    if (!file) return refuse_name(name, file.error(), "/api/begin", fields);
    take_up(std::move(file).value(), false);
    return {};
}

std::string Desk::free_name(const std::string& wanted) const {
    std::string stem;
    for (const char c : wanted) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' ||
                           (c == '-' && !stem.empty());
        stem += plain ? c : '_';
    }
    if (wanted.ends_with(".toml")) stem.resize(stem.size() - 5);
    constexpr std::size_t longest = 80;
    if (stem.size() > longest) stem.resize(longest);
    if (stem.find_first_not_of('_') == std::string::npos) stem = "plant";
    constexpr int tries = 1000;
    std::string name;
    for (int i = 1; i < tries; ++i) {
        name = stem + (i == 1 ? "" : "_" + std::to_string(i)) + ".toml";
        const auto place = folder_.place(name);
        const auto there =
            place ? read_whole(place.value()) : proto::Result<std::optional<ReadFile>, Failure>(place.error());
        if (there && !there.value()) break;
    }
    return name;
}

DeskAnswer Desk::refuse_name(const std::string& name, const Failure& failure, const std::string& path,
                             const Fields& fields) {
    const std::string other = free_name(name);
    const Refused kind = new_name_fault(name) ? Refused::name_unfit : Refused::name_taken;
    return refuse(kind, failure.one_line(), {again("Call it " + other, path, fields, {{"name", other}})});
}

DeskAnswer Desk::edited(const std::string& text, const std::string& words, Edited as) {
    auto tried = std::make_shared<const TypedPlant>(text, folder_.path() + "/" + file_->name());
    if (as.refused && tried->broken()) return refuse(*as.refused, in_words(*tried->broken()), std::move(as.mends));
    if (const auto failure = file_->edit(text, words))
        return refuse(as.refused.value_or(Refused::text_refused), failure->one_line(), std::move(as.mends));
    retype(std::move(tried));
    return {};
}

DeskAnswer Desk::set(const Fields& fields) {
    const std::string path = field(fields, "path"), value = field(fields, "value");
    if (path.empty()) return refuse(Refused::foreign_page, "it is not said what is typed", {load_again()});
    const auto before = typed_at(links_told_, path);
    if (const auto base = fields.find("base"); base != fields.end())
        if (!before || (!is_same_typed(*before, base->second) && !is_same_typed(*before, value)))
            return refuse_stale(path, value, before, base->second);
    const auto text = text_with(*written_, path, value);
    if (!text) return refuse_value(path, value, before.value_or(""), text.error());
    if (text.value() == file_->text()) return {};
    const std::string words = path + (value.empty() ? " taken out" : " " + value);
    auto tried = std::make_shared<const TypedPlant>(text.value(), folder_.path() + "/" + file_->name());
    if (tried->broken()) return refuse_value(path, value, before.value_or(""), *tried->broken());
    if (const auto failure = file_->edit(text.value(), words))
        return refuse(Refused::value_refused, failure->one_line(), {put_back(path, before.value_or(""))});
    retype(std::move(tried));
    return {};
}

Mend Desk::put_back(const std::string& path, const std::string& before) {
    return at_page(before.empty() ? "Put back nothing, as meant" : "Put back " + before, "put-back", path);
}

/// What was there before, and what the refusal names instead, each tried before it is offered.
DeskAnswer Desk::refuse_value(const std::string& path, const std::string& value, const std::string& before,
                              const sim::FileError& error) {
    constexpr std::size_t tried_most = 6, offered_most = 2;
    std::vector<Mend> mends{put_back(path, before)};
    std::size_t tried = 0;
    for (const std::string& one : perhaps_meant(value, before, error.message)) {
        if (mends.size() > offered_most || ++tried > tried_most) break;
        if (is_same_typed(one, before)) continue;
        const auto text = text_with(*written_, path, one);
        if (!text || TypedPlant(text.value(), folder_.path() + "/" + file_->name()).broken()) continue;
        mends.push_back(posting("Type " + one + " instead", "/api/set", {{"path", path}, {"value", one}}));
    }
    return refuse(Refused::value_refused, in_words(error), std::move(mends));
}

/// Somebody typed there while this value was being typed over another one.
DeskAnswer Desk::refuse_stale(const std::string& path, const std::string& value, const std::optional<std::string>& now,
                              const std::string& base) {
    const auto shown = [](const std::string& one) { return one.empty() ? std::string("nothing") : one; };
    const std::string there = now ? shown(*now) : std::string("what is there now");
    return refuse(Refused::value_stale,
                  (now ? there + " was typed there meanwhile, in another window; here "
                       : "This place was typed anew "
                         "meanwhile, in another window; here ") +
                      shown(value) + " was typed over " + shown(base) + ". Which one holds?",
                  {at_page("Keep " + there, "put-back", path),
                   posting("Type " + shown(value) + " all the same", "/api/set", {{"path", path}, {"value", value}})});
}

DeskAnswer Desk::remove_block(const Fields& fields) {
    const std::string path = field(fields, "path");
    if (field(fields, "do") != "remove" || path.empty())
        return refuse(Refused::foreign_page, "it is not said which block goes", {load_again()});
    auto text = sim::without(*written_, path);
    if (!text) return refuse(Refused::foreign_page, in_words(text.error()), {load_again()});
    DeskAnswer answer = edited(text.value(), path + " taken out", {.refused = Refused::block_needed});
    if (answer.refused)
        answer.refused->words += "; nothing was taken out: what needs it goes first, in the file itself";
    return answer;
}

DeskAnswer Desk::put_text(const Fields& fields) {
    DeskAnswer answer = edited(field(fields, "text"), "the text",
                               {.refused = {}, .mends = {at_page("Put back the text as it was", "text-back")}});
    if (!answer.refused) note_broken(answer, "Taken as it stands.");
    return answer;
}

void Desk::note_broken(DeskAnswer& answer, const std::string& done) const {
    if (!typed_ || !typed_->broken()) return;
    const sim::FileError& broken = *typed_->broken();
    answer.note = done + " It still cannot be read" +
                  (broken.line > 0 ? ", line " + std::to_string(broken.line) : std::string()) + ": " + broken.message;
    answer.mends = {to_line()};
}

Mend Desk::to_line() const {
    const int line = std::max(1, typed_ && typed_->broken() ? typed_->broken()->line : 1);
    return at_page("Go to line " + std::to_string(line), "to-line", std::to_string(line));
}

}  // namespace tools
