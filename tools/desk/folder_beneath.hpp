#pragma once
// A folder out of which nothing leads: files in it are reached by names without "..", and no link is followed on the
// way, whoever puts one there at whatever moment.
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// An open file or folder, closed at the end of its life.
class Descriptor {
  public:
    Descriptor() = default;
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor() { close(); }
    Descriptor(Descriptor&& other) noexcept : number_(other.number_) { other.number_ = -1; }
    Descriptor& operator=(Descriptor&& other) noexcept;
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    [[nodiscard]] int number() const { return number_; }
    [[nodiscard]] bool open() const { return number_ >= 0; }
    bool close();  ///< now, since a late error may show only here; true: there was none

  private:
    int number_ = -1;
};

/// Where a file is or is to be: its folder, held open, and its name there.
struct PlaceBeneath {
    std::shared_ptr<const Descriptor> folder;
    std::string leaf;
    std::string name;         ///< below the folder that was given: "line_2/debarker.toml"
    std::string shown;        ///< for messages: that folder and the name
    std::string folder_path;  ///< of its own folder, absolute, without links
};

class FolderBeneath {
  public:
    /// The folder itself may be named by a link. Or why it cannot be used.
    static proto::Result<FolderBeneath, Failure> open(const std::string& path);
    [[nodiscard]] const std::string& path() const { return path_; }  ///< as it was named
    /// Resolves the folders on the way, not the file. Refuses absolute names, "..", ".", empty parts, links.
    [[nodiscard]] proto::Result<PlaceBeneath, Failure> place(const std::string& name) const;
    /// Regular files in it (not below) that end in .toml and begin with no dot, by name, at most 1000.
    [[nodiscard]] std::vector<std::string> toml_files() const;

    /// As it was opened, whole.
    [[nodiscard]] const std::string& whole() const { return whole_; }
    /// See is_removed().
    [[nodiscard]] bool removed() const;

  private:
    FolderBeneath(std::string path, std::string whole, std::shared_ptr<const Descriptor> folder)
        : path_(std::move(path)), whole_(std::move(whole)), folder_(std::move(folder)) {}
    std::string path_, whole_;
    std::shared_ptr<const Descriptor> folder_;
};

/// An open folder that nothing leads to any more: it was removed. One that was only moved is not.
bool is_removed(int folder);
/// Where an open folder lies; empty: that cannot be said.
std::string path_of(int folder);

/// Why a new file cannot have that name: it must end in .toml, stand in the folder itself, begin with no dot, hold no
/// control character and at most 200 bytes of UTF-8. For people; nothing if it can.
std::optional<std::string> new_name_fault(std::string_view name);

}  // namespace tools
