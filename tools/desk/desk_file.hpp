#pragma once
// A file of a folder with what is typed and not yet saved. What is typed lies in a draft beside it until it is saved or
// given up, so that whoever ends the program at any moment loses nothing that was kept; the file itself is the old one
// or the new one, never a part, and never overwritten when somebody else changed it. For one thread at a time.
#include <cstdint>
#include <optional>
#include <string>

#include "proto/result.hpp"
#include "tools/desk/draft_file.hpp"
#include "tools/desk/edits.hpp"
#include "tools/desk/file_home.hpp"
#include "tools/desk/folder_beneath.hpp"
#include "tools/desk/whole_file.hpp"
#include "tools/program/failure.hpp"

namespace tools {

class DeskFile {
  public:
    /// A file that is there: text in UTF-8 (it need not parse) of at most sim::file_bytes_max bytes, no link. `name`:
    /// below the folder, may lead through folders. Or why not.
    static proto::Result<DeskFile, Failure> open(const FolderBeneath& folder, const std::string& name);
    /// A text that is to become a new file of that name (see new_name_fault()). Refuses a name that is there.
    static proto::Result<DeskFile, Failure> begin(const FolderBeneath& folder, const std::string& name,
                                                  std::string text);
    /// A new file that was never saved, from the draft that a program which ended left of it. See drafts_left().
    static proto::Result<DeskFile, Failure> recover(const FolderBeneath& folder, const std::string& name);

    /// Below the folder.
    [[nodiscard]] const std::string& name() const { return home_.place().name; }
    [[nodiscard]] const std::string& text() const { return edits_.text(); }
    /// Goes up with each change of text(), from 1.
    [[nodiscard]] std::uint64_t stamp() const { return edits_.stamp(); }
    /// Whether text() is other than what lies in the folder, as far as was looked; a file that is not there is.
    [[nodiscard]] bool changed() const { return !saved_ || *saved_ != text(); }
    /// Whether it was ever there under its name.
    [[nodiscard]] bool in_folder() const { return saved_.has_value(); }
    /// When it was last saved here, seconds since 1970.
    [[nodiscard]] std::optional<std::int64_t> saved_at() const { return saved_at_; }
    /// Where it lies. While that is gone() nothing can be saved, and the draft lies in the user's state folder; look()
    /// takes up what is there again.
    [[nodiscard]] const FileHome& home() const { return home_; }

    // ---- typing ----

    /// `words`: what it was, for people: "watchdog 80 ms". The same text changes nothing. Refuses over
    /// sim::file_bytes_max.
    std::optional<Failure> edit(const std::string& text, std::string words);
    [[nodiscard]] const Edits& edits() const { return edits_; }
    bool undo() { return edits_.undo(); }  ///< false: there is nothing to undo
    bool redo() { return edits_.redo(); }

    // ---- the draft ----

    /// Brings the draft up to date, on the disk when this returns: at most 200 ms after each change. Costs nothing if
    /// it is; after a failure it is tried again. text() is still what was typed.
    std::optional<Failure> keep_draft();
    /// Its found(): a draft that a program which ended left, until it is answered; it is this one's meanwhile. Its
    /// elsewhere(): another program that still runs has a draft of this file, and what it types is not here.
    [[nodiscard]] const DraftFile& draft() const { return draft_; }
    /// The text found becomes text(), which can be undone, or it goes. Nothing without one.
    std::optional<Failure> take_draft();
    std::optional<Failure> drop_draft();

    // ---- the file ----

    enum class Saved : std::uint8_t {
        done,
        foreign,  ///< somebody else changed it, removed it or made one of that name: see theirs(); nothing was written
        failed,   ///< see failure; the old file and the draft are whole
    };
    struct SaveAnswer {
        Saved saved = Saved::done;
        std::optional<Failure> failure = {};  ///< of `failed`
    };
    /// Whole or not at all, on the disk when this returns: the rights of the old file, its owner as far as this user
    /// may.
    SaveAnswer save();
    /// The same after the question: over what look() or save() found last. If that changed again: foreign.
    SaveAnswer save_over();
    /// Under another name of the same folder, which this then is. Never over a file that is there: that is `failed`.
    SaveAnswer save_as(const std::string& name);

    enum class Seen : std::uint8_t { as_saved, foreign };
    /// Looks whether the file is another one by now; cheap if it was not touched.
    Seen look();
    /// Whether somebody else's is there, unanswered.
    [[nodiscard]] bool foreign() const { return foreign_; }
    /// Somebody else's text, when foreign(); nothing: it was removed, or is no text that can be shown.
    [[nodiscard]] const std::optional<std::string>& theirs() const { return theirs_; }
    /// Theirs becomes text(), which can be undone. Nothing unless there is one.
    void take_theirs();

  private:
    DeskFile(FolderBeneath folder, PlaceBeneath place, std::string text, std::optional<std::string> saved,
             FileMark mark);
    SaveAnswer put(const std::optional<std::string>& over);
    void now_saved(const FileMark& mark);
    void saw(std::optional<std::string> bytes);

    FileHome home_;
    std::optional<std::string> saved_;  ///< what lies there and is ours; nothing: nothing of ours does
    FileMark mark_;                     ///< of what was seen last, if it was there
    bool there_ = saved_.has_value();
    bool mark_unsure_ = false;  ///< what was seen last could not be read
    Edits edits_;
    DraftFile draft_;
    std::uint64_t kept_stamp_ = 1;  ///< the draft was brought up to date for that text,
    bool draft_behind_ = false;     ///< or could not be
    bool foreign_ = false;
    bool gone_ = false;
    std::optional<std::string> theirs_{};        ///< as text
    std::optional<std::string> theirs_bytes_{};  ///< as it lies there; nothing: there is none
    std::optional<std::int64_t> saved_at_{};
};

}  // namespace tools
