#pragma once
// What is typed and not yet saved, in a file of its own: ".NAME.desk-draft" beside the file, or in the user's state
// folder where that cannot be written. Whoever keeps a draft holds a lock on it for as long as the program runs: one
// without a lock is what an ended program left. Several programs at one file have a draft each.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "tools/desk/folder_beneath.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// A draft that a program which ended left.
struct FoundDraft {
    std::string text;
    std::int64_t kept_at = 0;   ///< seconds since 1970
    bool file_changed = false;  ///< the file is another one than the draft was typed over
};

class DraftFile {
  public:
    explicit DraftFile(PlaceBeneath place) : place_(std::move(place)) {}

    /// Looks for drafts of others and what ended programs left, newest first. `saved`: what the file holds; nothing:
    /// it is not there. What was left and holds no other text than the file is removed.
    void look(const std::optional<std::string>& saved);
    [[nodiscard]] const std::optional<FoundDraft>& found() const { return found_; }
    [[nodiscard]] bool elsewhere() const { return elsewhere_; }  ///< a running program keeps one

    /// Keeps `text`, typed over `saved`: on the disk when this returns. A failure leaves the draft that was there.
    std::optional<Failure> keep(const std::string& text, const std::optional<std::string>& saved);
    /// The own draft goes, on the disk too.
    std::optional<Failure> remove();
    [[nodiscard]] bool kept() const { return own_.has_value(); }
    /// The path of the own one; empty: none is kept.
    [[nodiscard]] std::string lies_at() const;
    /// The file's folder was gone and is another one now; the draft stays where it is kept.
    void move_to(PlaceBeneath place) { place_ = std::move(place); }
    /// The one that was found becomes the own one.
    void take_found();
    std::optional<Failure> drop_found();

  private:
    struct Slot {
        std::shared_ptr<const Descriptor> folder;
        std::string name;
        Descriptor lock;  ///< of the draft there, locked
    };
    struct Where {
        std::shared_ptr<const Descriptor> folder;
        std::string stem;  ///< of the names of drafts
    };
    [[nodiscard]] std::optional<Where> beside() const;
    [[nodiscard]] std::optional<Where> in_state_folder(bool make) const;
    [[nodiscard]] bool is_own(const std::string& name) const;
    void look_at(const Where& where, const std::string& name, const std::optional<std::string>& saved);
    int replace_own(const std::string& content);                  ///< or errno
    int keep_at(const Where& where, const std::string& content);  ///< or errno
    static int remove_slot(Slot& slot);                           ///< or errno

    PlaceBeneath place_;
    std::optional<Slot> own_{};
    std::optional<Slot> found_slot_{};
    std::optional<FoundDraft> found_{};
    bool elsewhere_ = false;
};

/// A new file that was never saved, of which a draft was left in that folder.
struct LeftDraft {
    std::string name;
    std::int64_t kept_at = 0;  ///< seconds since 1970
};
/// In that folder, not below it, by name.
std::vector<LeftDraft> drafts_left(const FolderBeneath& folder);

}  // namespace tools
