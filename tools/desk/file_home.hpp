#pragma once
// Where a file of the desk lies: its folder, which somebody may remove and put back while the file is open.
#include <optional>
#include <utility>

#include "tools/desk/folder_beneath.hpp"
#include "tools/program/failure.hpp"

namespace tools {

class FileHome {
  public:
    FileHome(FolderBeneath folder, PlaceBeneath place) : folder_(std::move(folder)), place_(std::move(place)) {}
    /// In which the file was opened; another one only where that was gone and is there again.
    [[nodiscard]] const FolderBeneath& folder() const { return folder_; }
    [[nodiscard]] const PlaceBeneath& place() const { return place_; }
    /// Of the same folder.
    void move_to(PlaceBeneath place) { place_ = std::move(place); }
    /// Whether a new file could be made beside it now.
    [[nodiscard]] bool writable() const;
    /// Its folder was removed, or its disk taken away.
    [[nodiscard]] bool gone() const { return is_removed(place_.folder->number()); }
    /// Makes it again under its path, for find(). Or why not.
    [[nodiscard]] std::optional<Failure> make() const;
    /// Takes up the folder that lies under its path now; false: there is none.
    bool find();

  private:
    FolderBeneath folder_;
    PlaceBeneath place_;
};

}  // namespace tools
