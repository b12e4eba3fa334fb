// Files that are dropped on the page: setting lists of the two ends, and measured times.
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <system_error>
#include <utility>

#include "tools/desk/bits_told.hpp"
#include "tools/desk/desk.hpp"
#include "tools/desk/value_edit.hpp"
#include "tools/desk/whole_file.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

/// A name for a file in the folder: the last part of what the browser calls it, in plain letters.
std::string plain_name(const std::string& given) {
    const std::size_t slash = given.find_last_of("/\\");
    std::string name;
    for (const char c : slash == std::string::npos ? given : given.substr(slash + 1)) {
        const bool kept = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' ||
                          c == '-' || c == '.';
        name += kept ? c : '_';
    }
    while (!name.empty() && name.front() == '.') name.erase(name.begin());
    constexpr std::size_t longest = 80;
    if (name.size() > longest) name.erase(0, name.size() - longest);
    return name;
}

}  // namespace

DeskAnswer Desk::drop(const Fields& fields) {
    const std::string as = field(fields, "as"), name = field(fields, "name");
    if (as == "measured") {
        // what was dropped once need not be dropped again under another name
        if (fields.contains("text")) dropped_times_ = field(fields, "text");
        return drop_measured(name, fields);
    }
    if (as == "lists") {
        if (field(fields, "save") == "yes")
            if (DeskAnswer saved = save(fields); saved.refused) return saved;
        return compare_lists();
    }
    if (as != "controller-list" && as != "device-list")
        return refuse(Refused::foreign_page, "it is not said what that file is", {load_again()});
    dropped_[as] = {name, field(fields, "text")};
    if (dropped_.size() < 2) {
        lists_told_ =
            Value::Object{{"sentence", "One list is here; drop the other end's too."}, {"rows", Value::List{}}};
        return {};
    }
    return compare_lists();
}

DeskAnswer Desk::drop_measured(const std::string& given, const Fields& fields) {
    const std::string link = field(fields, "link"), &text = dropped_times_;
    const auto once_more = [&](std::string words, const Fields& altered) {
        Fields asked = altered;
        asked.insert({{"as", "measured"}, {"name", given}, {"link", link}});
        return again(std::move(words), "/api/drop", asked);
    };
    std::string name = plain_name(given);
    if (!name.ends_with(".csv")) name += ".csv";
    const auto number = typed_->link_called(link);
    if (!number)
        return refuse(Refused::foreign_page, "there is no link " + in_quotes(link) + " any more", {load_again()});
    const auto not_written = [&](const std::string& words) {
        return refuse(Refused::times_not_written, words, {once_more("Try again", {})});
    };
    const auto place = folder_.place(name);
    if (!place) return not_written(place.error().one_line());
    const auto there = read_whole(place.value());
    if (!there) return not_written(there.error().one_line());
    if (there.value() && there.value()->bytes != text) {
        const std::string other = free_times_name(name);
        return refuse(Refused::other_times_there,
                      name +
                          " is in the folder already, with other content, and nothing is written over it: give "
                          "the file another name",
                      {once_more("Call it " + other, {{"name", other}})});
    }
    if (!there.value()) {
        const PutFile put = put_whole(place.value(), text, std::nullopt);
        if (put.outcome != PutFile::Outcome::done)
            return not_written(put.failure ? put.failure->one_line() : name + " could not be written");
    }
    const std::string path = paths_of(*typed_, *number).whole + "channel.delay";
    auto changed = sim::with_value(*written_, path, "{ file = \"" + name + "\", no_answer = \"losses\" }");
    DeskAnswer answer = changed ? edited(changed.value(), "measured times of " + name, {Refused::times_refused})
                                : refuse(Refused::times_refused, in_words(changed.error()));
    if (!answer.refused) return answer;
    answer.refused->words += "; nothing of it was taken: mend it where it was measured, then drop it again";
    // it is of no use as it is: nothing of it stays
    if (!there.value()) ::unlinkat(place.value().folder->number(), place.value().leaf.c_str(), 0);
    return answer;
}

std::string Desk::free_times_name(const std::string& name) const {
    const std::string stem = name.substr(0, name.size() - std::string_view(".csv").size());
    constexpr int tries = 1000;
    std::string other;
    for (int i = 2; i < tries; ++i) {
        other = stem + "_" + std::to_string(i) + ".csv";
        const auto place = folder_.place(other);
        const auto there =
            place ? read_whole(place.value()) : proto::Result<std::optional<ReadFile>, Failure>(place.error());
        if (there && (!there.value() || there.value()->bytes == dropped_times_)) break;
    }
    return other;
}

DeskAnswer Desk::compare_lists() {
    if (!is_saved()) {
        Fields asked{{"as", "lists"}, {"save", "yes"}};
        std::string words = "Save and compare";
        if (example_) {
            asked["name"] = free_name("plant");
            words = "Save as " + asked["name"] + " and compare";
        }
        return refuse(Refused::lists_unsaved, "two lists are compared with the file as it is saved: save it first",
                      {again(std::move(words), "/api/drop", asked)});
    }
    const Fields once_more{{"as", "lists"}};
    const auto not_placed = [&](std::string words) {
        return refuse(Refused::lists_not_placed, std::move(words), {again("Try again", "/api/drop", once_more)});
    };
    std::error_code failed;
    std::string folder = (std::filesystem::temp_directory_path(failed) / "linkdrill-lists-XXXXXX").string();
    if (failed || ::mkdtemp(folder.data()) == nullptr)
        return not_placed("there is no place for the lists: " + folder + " cannot be made");
    const std::size_t slash = file_->name().rfind('/');
    const std::string leaf = slash == std::string::npos ? file_->name() : file_->name().substr(slash + 1);
    std::vector<std::string> arguments{"check", "./" + leaf, "--json"};
    for (const char* const as : {"controller-list", "device-list"}) {
        const auto beneath = FolderBeneath::open(folder);
        const auto place = beneath ? beneath.value().place(std::string(as) + ".csv")
                                   : proto::Result<PlaceBeneath, Failure>(beneath.error());
        if (!place) return not_placed(place.error().one_line());
        const PutFile put = put_whole(place.value(), dropped_[as].text, std::nullopt);
        if (put.outcome != PutFile::Outcome::done)
            return not_placed(put.failure ? put.failure->one_line() : "the lists could not be written");
        arguments.insert(arguments.end(), {"--" + std::string(as), folder + "/" + as + ".csv"});
    }
    lists_folder_ = folder;
    DeskAnswer begun = begin_work({.what = "lists",
                                   .words = "Two lists",
                                   .arguments = std::move(arguments),
                                   .input = {},
                                   .folder = own_folder(),
                                   .stamp = typed_mark(),
                                   .command = "linkdrill check " + shell_word(file_->name()) + " --controller-list " +
                                              shell_word(dropped_["controller-list"].name) + " --device-list " +
                                              shell_word(dropped_["device-list"].name)},
                                  "/api/drop", once_more);
    if (begun.refused) return begun;
    lists_told_ = Value::Object{{"sentence", "Being compared."}, {"rows", Value::List{}}};
    return {};
}

void Desk::take_lists() {
    const DeskWork::Work* const work = work_.latest("lists");
    if (lists_folder_.empty() || work == nullptr || work->child) return;
    std::error_code ignored;
    std::filesystem::remove_all(lists_folder_, ignored);
    const auto by_its_name = [&](std::string words) {
        for (const char* const as : {"controller-list", "device-list"}) {
            const std::string path = lists_folder_ + "/" + as + ".csv";
            for (std::size_t at = words.find(path); at != std::string::npos; at = words.find(path))
                words.replace(at, path.size(), dropped_[as].name);
        }
        return words;
    };
    Value::List rows;
    const Value& document = work->document;
    for (const Value& one : look_up_list(document, "lists"))
        rows.push_back(Value::Object{
            {"what", "not as it must be"},
            {"value", by_its_name(one.text().empty() ? look_up_text(one, "message") : std::string(one.text()))}});
    for (const Value& one : look_up_list(document, "differences"))
        rows.push_back(Value::Object{{"what", look_up_text(one, "setting")},
                                     {"value", look_up_text(one, "controller") + " / " + look_up_text(one, "device") +
                                                   "; mend: " + look_up_text(one, "mend")}});
    const bool done = work->state == DeskWork::Work::State::done;
    std::string sentence = by_its_name(work->line);
    if (done && look_up(document, "ok").is_true())
        sentence = "ENDS AGREE: " + grouped(count_of(look_up_number(document, "compared"))) +
                   " settings of both lists compared.";
    else if (done)
        sentence = look_up_list(document, "differences").empty() ? "NOT ALL COMPARED, or a problem: see below."
                                                                 : "ENDS DISAGREE, by the two lists.";
    lists_told_ =
        Value::Object{{"sentence", std::move(sentence)}, {"rows", std::move(rows)}, {"command", work->asked.command}};
    lists_folder_.clear();
}

}  // namespace tools
