// What becomes of the desk's file: saved, answered where somebody else changed it, and what was done at the bench kept
// in it.
#include <algorithm>
#include <array>
#include <span>
#include <utility>

#include "sim/scenario/units.hpp"
#include "tools/desk/bench_words.hpp"
#include "tools/desk/desk.hpp"
#include "tools/desk/value_edit.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

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

Mend start_anew() { return posting("Start anew", "/api/bench", {{"do", "begin"}}); }

}  // namespace

DeskAnswer Desk::save(const Fields& fields) {
    const std::string name = with_ending(field(fields, "name"));
    const bool other_name = !name.empty() && name != file_->name();
    if (example_ && !other_name) {
        const std::string free = free_name("plant");
        return refuse(
            Refused::example_without_name, "this is the example of the desk: give it a name of its own",
            {posting("Save it as " + free, "/api/save", {{"name", free}}), at_page("Type a name", "go", "save-name")});
    }
    notice_if_gone();
    if (file_->home().gone()) {
        if (field(fields, "make") != "yes") return refuse_gone(fields);
        if (const auto failure = file_->home().make())
            return refuse(Refused::not_saved, failure->one_line(), {again("Try again", "/api/save", fields)});
        static_cast<void>(file_->look());
        folder_ = file_->home().folder();
    }
    const DeskFile::SaveAnswer answer = other_name                       ? file_->save_as(name)
                                        : field(fields, "over") == "yes" ? file_->save_over()
                                                                         : file_->save();
    switch (answer.saved) {
        case DeskFile::Saved::done: break;
        case DeskFile::Saved::foreign: return refuse_foreign();
        case DeskFile::Saved::failed:
            if (other_name && (new_name_fault(name) || is_there(name)))
                return refuse_name(name, *answer.failure, "/api/save", fields);
            return refuse(Refused::not_saved, answer.failure->one_line(), {again("Try again", "/api/save", fields)});
    }
    example_ = false;
    edited_at_.reset();
    beginnings_at_.reset();
    if (other_name) typed_stamp_ = 0;  // what it names is looked for from its new place
    retype();
    DeskAnswer saved;
    note_broken(saved, "Saved as it stands.");
    return saved;
}

bool Desk::is_there(const std::string& name) const {
    const auto place = folder_.place(name);
    const auto there =
        place ? read_whole(place.value()) : proto::Result<std::optional<ReadFile>, Failure>(place.error());
    return !there || there.value();
}

DeskAnswer Desk::refuse_gone(const Fields& fields) const {
    const std::string draft = file_->draft().lies_at();
    return refuse(Refused::folder_gone,
                  "the folder " + file_->home().place().folder_path + " is gone, so nothing was saved; " +
                      (draft.empty() ? "what is typed lies in no file: copy it from the page"
                                     : "what is typed lies in its draft, " + draft),
                  {again("Make the folder again and save", "/api/save", fields, {{"make", "yes"}})});
}

DeskAnswer Desk::refuse_foreign() const {
    std::vector<Mend> mends{at_page("See both texts", "go", "notices")};
    if (file_->theirs()) mends.push_back(posting("Take what is on the disk", "/api/foreign", {{"take", "theirs"}}));
    return refuse(Refused::changed_by_others,
                  "somebody else changed " + file_->name() +
                      " since it was read: nothing was saved. See both texts, then take one.",
                  std::move(mends));
}

DeskAnswer Desk::answer_foreign(const Fields& fields) {
    if (!file_->foreign())
        return refuse(Refused::no_question, "nobody else's change waits for an answer: there is nothing to choose");
    if (field(fields, "take") == "theirs") {
        file_->take_theirs();
        retype();
        DeskAnswer taken;
        note_broken(taken, "Taken as it is on the disk.");
        return taken;
    }
    const DeskFile::SaveAnswer answer = file_->save_over();
    if (answer.saved == DeskFile::Saved::failed)
        return refuse(Refused::not_saved, answer.failure->one_line(), {again("Try again", "/api/foreign", fields)});
    if (answer.saved == DeskFile::Saved::foreign) return refuse_foreign();
    edited_at_.reset();
    return {};
}

DeskAnswer Desk::answer_draft(const Fields& fields) {
    const std::string take = field(fields, "take");
    const auto failure = take == "yes"    ? file_->take_draft()
                         : take == "keep" ? file_->keep_draft()
                                          : file_->drop_draft();
    if (failure)
        return refuse(Refused::draft_not_kept, failure->one_line(), {again("Try again", "/api/draft", fields)});
    if (take == "keep") draft_trouble_.clear();
    retype();
    if (typed_ && !typed_->broken() && !bench_) begin_bench(sim::DeskBench::Begin::by_hand);
    return {};
}

DeskAnswer Desk::look_again() {
    beginnings_at_.reset();
    listed_.clear();
    looked_around_.reset();
    looked_at_file_.reset();
    return {};
}

/// What was done before an emergency stop is all that a rehearsal would show as it was shown here.
DeskAnswer Desk::refuse_stop(const Fields& fields) const {
    const std::string at = bench_time(bench_->bench().kept_until());
    const std::string why = "An emergency stop was pressed at " + at +
                            ". It is wired to the machine and no act of the link, so no scenario can say it: what came "
                            "after it would be rehearsed otherwise than it was shown. ";
    if (bench_->bench().kept_blocks().empty())
        return refuse(Refused::nothing_before_stop, why + "Before it nothing was done that could be kept.",
                      {start_anew()});
    return refuse(Refused::stop_not_kept, why + "What was done before it can be kept.",
                  {again("Keep what I did up to " + at, "/api/keep", fields, {{"until", "stop"}}), start_anew()});
}

/// Something that can be done at the bench now, so that there is something to keep.
Mend Desk::something_to_do() const {
    const sim::DeskShown shown = bench_->bench().shown();
    for (const sim::DeskGuard& guard : shown.guards)
        if (guard.free && guard.contact_free && !guard.held)
            return posting("Interrupt " + guard.name, "/api/bench",
                           {{"do", "guard"}, {"guard", guard.name}, {"on", "1"}});
    return posting("Acknowledge", "/api/bench", {{"do", "acknowledge"}});
}

DeskAnswer Desk::keep(const Fields& fields) {
    if (!bench_ || bench_->as_written())
        return refuse(Refused::plays_the_file,
                      "this bench plays what the file says; begin it by hand, then what you do can be kept",
                      {posting("Start anew by hand", "/api/bench", {{"do", "begin"}})});
    if (bench_is_old())
        return refuse(Refused::bench_old,
                      "the bench runs what was typed at " + bench_->hour() +
                          ": what was done would not fit what is typed now. Begin anew and do it again.",
                      {start_anew()});
    const sim::DeskBench& bench = bench_->bench();
    if (bench.acts().empty())
        return refuse(Refused::nothing_done, "nothing was done yet: interrupt a guard, say", {something_to_do()});
    if (bench.kept_until() < bench.now() && (field(fields, "until") != "stop" || bench.kept_blocks().empty()))
        return refuse_stop(fields);
    constexpr std::array<std::string_view, 3> kinds{"demand", "operator", "fault"};
    if (const std::string lost = what_goes(*written_, kinds);
        !lost.empty() && file_->text() != kept_text_ && field(fields, "replace") != "yes")
        return refuse(Refused::replaces_blocks,
                      "What you did takes the place of what the file has: " + lost +
                          " go, with their comments. One undo brings them back.",
                      {again("Replace them", "/api/keep", fields, {{"replace", "yes"}})});
    const auto not_written = [&](const sim::FileError& error) {
        return refuse(
            Refused::blocks_not_written,
            in_words(error) + "; nothing was kept: whoever wrote that line mends it in the file, then keep again");
    };
    auto text = sim::with_blocks(*written_, kinds, bench.kept_blocks());
    if (!text) return not_written(text.error());
    const std::string path = folder_.path() + "/" + file_->name();
    auto kept = sim::WrittenFile::of(std::move(text).value(), path);
    if (!kept) return not_written(kept.error());
    auto timed = sim::with_value(kept.value(), "duration", "\"" + sim::written(bench.kept_duration()) + "\"");
    if (!timed) return not_written(timed.error());
    DeskAnswer answer = edited(timed.value(), "what was done is kept", {.refused = Refused::blocks_not_written});
    if (answer.refused) return answer;
    kept_text_ = file_->text();
    // the bench still runs the same plant: only demands, acts and faults are others
    begun_text_ = file_->text();
    return field(fields, "name").empty() ? answer : save(fields);
}

}  // namespace tools
