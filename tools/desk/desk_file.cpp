#include "tools/desk/desk_file.hpp"

#include <ctime>
#include <utility>

#include "sim/reading/read.hpp"
#include "sim/reading/utf8_text.hpp"

namespace tools {
namespace {

Failure bad(const std::string& shown, std::string words) { return {Status::bad_input, shown, 0, {}, std::move(words)}; }

/// Why a text cannot be shown and typed in.
std::optional<Failure> unfit(const std::string& text, const std::string& shown) {
    if (text.size() > sim::file_bytes_max)
        return bad(shown, "has " + std::to_string(text.size()) + " bytes; a scenario has at most " +
                              std::to_string(sim::file_bytes_max));
    if (text.find('\0') != std::string::npos) return bad(shown, "is no text; name a scenario");
    if (const auto fault = sim::not_utf8(shown, text))
        return Failure{Status::bad_input, shown, fault->line, {}, fault->message};
    return std::nullopt;
}

Failure there_already(const PlaceBeneath& place) {
    return bad(place.shown, "is there already and is not overwritten; choose another name");
}

proto::Result<PlaceBeneath, Failure> new_place(const FolderBeneath& folder, const std::string& name) {
    if (const auto fault = new_name_fault(name)) return bad(folder.path(), *fault);
    return folder.place(name);
}

}  // namespace

DeskFile::DeskFile(FolderBeneath folder, PlaceBeneath place, std::string text, std::optional<std::string> saved,
                   FileMark mark)
    : home_(std::move(folder), std::move(place)),
      saved_(std::move(saved)),
      mark_(mark),
      edits_(std::move(text)),
      draft_(home_.place()) {
    draft_.look(saved_);
}

proto::Result<DeskFile, Failure> DeskFile::open(const FolderBeneath& folder, const std::string& name) {
    const auto place = folder.place(name);
    if (!place) return place.error();
    auto read = read_whole(place.value());
    if (!read) return read.error();
    if (!read.value()) return bad(place.value().shown, "no such file; name one of the folder, or begin a new one");
    std::string text = std::move(read.value()->bytes);
    if (auto fault = unfit(text, place.value().shown)) return *fault;
    std::optional<std::string> saved = text;
    return DeskFile(folder, place.value(), std::move(text), std::move(saved), read.value()->mark);
}

proto::Result<DeskFile, Failure> DeskFile::begin(const FolderBeneath& folder, const std::string& name,
                                                 std::string text) {
    const auto place = new_place(folder, name);
    if (!place) return place.error();
    const auto read = read_whole(place.value());
    if (!read || read.value()) return there_already(place.value());
    if (auto fault = unfit(text, place.value().shown)) return *fault;
    return DeskFile(folder, place.value(), std::move(text), std::nullopt, {});
}

proto::Result<DeskFile, Failure> DeskFile::recover(const FolderBeneath& folder, const std::string& name) {
    const auto place = new_place(folder, name);
    if (!place) return place.error();
    const auto read = read_whole(place.value());
    if (!read || read.value()) return there_already(place.value());
    DraftFile draft(place.value());
    draft.look(std::nullopt);
    if (!draft.found()) return bad(place.value().shown, "nothing typed was left of it");
    DeskFile file(folder, place.value(), draft.found()->text, std::nullopt, {});
    draft.take_found();
    file.draft_ = std::move(draft);
    return file;
}

std::optional<Failure> DeskFile::edit(const std::string& text, std::string words) {
    if (auto fault = unfit(text, home_.place().shown)) return fault;
    edits_.edit(text, std::move(words));
    return std::nullopt;
}

std::optional<Failure> DeskFile::keep_draft() {
    if (kept_stamp_ == edits_.stamp() && !draft_behind_) return std::nullopt;
    kept_stamp_ = edits_.stamp();
    auto failure = changed() ? draft_.keep(text(), saved_) : draft_.remove();
    draft_behind_ = failure.has_value();
    return failure;
}

std::optional<Failure> DeskFile::take_draft() {
    if (!draft_.found()) return std::nullopt;
    edits_.edit(draft_.found()->text, "what was typed before");
    draft_.take_found();
    kept_stamp_ = 0;  // it was typed over what the file was then
    draft_.look(saved_);
    return keep_draft();
}

std::optional<Failure> DeskFile::drop_draft() {
    auto failure = draft_.drop_found();
    draft_.look(saved_);
    return failure;
}

DeskFile::SaveAnswer DeskFile::save() {
    if (!changed() && look() == Seen::as_saved) return {};
    return put(saved_);
}

DeskFile::SaveAnswer DeskFile::save_over() { return put(foreign_ ? theirs_bytes_ : saved_); }

DeskFile::SaveAnswer DeskFile::put(const std::optional<std::string>& over) {
    // whatever becomes of it, what was typed is kept before anything else is touched
    static_cast<void>(keep_draft());
    const bool kept = !draft_behind_ && draft_.kept();
    PutFile answer = put_whole(home_.place(), text(), over);
    // by now it may be as it was again
    if (answer.outcome == PutFile::Outcome::foreign && look() == Seen::as_saved)
        answer = put_whole(home_.place(), text(), saved_);
    switch (answer.outcome) {
        case PutFile::Outcome::done: now_saved(answer.mark); return {};
        case PutFile::Outcome::foreign:
            if (!foreign_) look();
            return {Saved::foreign};
        case PutFile::Outcome::failed: break;
    }
    answer.failure->message +=
        kept ? "; what was typed lies in its draft" : "; what was typed lies in no file: copy it from the page";
    return {Saved::failed, std::move(answer.failure)};
}

void DeskFile::now_saved(const FileMark& mark) {
    saved_ = text();
    mark_ = mark;
    foreign_ = false;
    theirs_.reset();
    theirs_bytes_.reset();
    saved_at_ = std::int64_t{::time(nullptr)};
    kept_stamp_ = edits_.stamp();
    // one that stays holds what the file does, and is removed when it is found
    static_cast<void>(draft_.remove());
    draft_behind_ = false;
}

DeskFile::SaveAnswer DeskFile::save_as(const std::string& name) {
    if (name == home_.place().name) return save();
    const auto place = new_place(home_.folder(), name);
    if (!place) return {Saved::failed, place.error()};
    PutFile answer = put_whole(place.value(), text(), std::nullopt);
    if (answer.outcome == PutFile::Outcome::foreign) return {Saved::failed, there_already(place.value())};
    if (answer.outcome == PutFile::Outcome::failed) return {Saved::failed, std::move(answer.failure)};
    now_saved(answer.mark);
    home_.move_to(place.value());
    draft_ = DraftFile(place.value());
    draft_.look(saved_);
    return {};
}

DeskFile::Seen DeskFile::look() {
    const bool was_gone = gone_;
    if (home_.gone() && !home_.find()) {
        if (!gone_) {
            // nothing of ours lies anywhere, and the draft beside it went too
            saved_.reset();
            foreign_ = there_ = mark_unsure_ = false;
            theirs_.reset();
            theirs_bytes_.reset();
            kept_stamp_ = 0;
        }
        gone_ = true;
        return Seen::as_saved;
    }
    gone_ = false;
    if (was_gone) draft_.move_to(home_.place());
    draft_.look(saved_);
    const std::optional<FileMark> mark = mark_of(home_.place());
    const bool seen = mark ? there_ && !mark->young && !mark_.young && mark->same(mark_) : !there_ && !mark_unsure_;
    if (seen) return foreign_ ? Seen::foreign : Seen::as_saved;
    const auto read = read_whole(home_.place());
    std::optional<std::string> bytes;
    mark_unsure_ = !read;
    there_ = read && read.value();
    if (there_) {
        bytes = read.value()->bytes;
        mark_ = read.value()->mark;
    }
    saw(std::move(bytes));
    return foreign_ ? Seen::foreign : Seen::as_saved;
}

void DeskFile::saw(std::optional<std::string> bytes) {
    // what is as it was typed here is as good as saved here
    if (bytes && bytes != saved_ && *bytes == text()) {
        saved_ = bytes;
        kept_stamp_ = 0;  // a draft is no longer needed
    }
    foreign_ = mark_unsure_ || bytes != saved_;
    theirs_.reset();
    theirs_bytes_.reset();
    if (!foreign_) return;
    theirs_bytes_ = std::move(bytes);
    if (theirs_bytes_ && !unfit(*theirs_bytes_, home_.place().shown)) theirs_ = theirs_bytes_;
}

void DeskFile::take_theirs() {
    if (!foreign_ || !theirs_) return;
    edits_.edit(*theirs_, "the file as somebody else changed it");
    saved_ = std::move(theirs_bytes_);
    foreign_ = false;
    theirs_.reset();
    theirs_bytes_.reset();
}

}  // namespace tools
