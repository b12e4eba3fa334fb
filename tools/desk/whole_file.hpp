#pragma once
// Reading and putting whole files in a folder that is held open.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "tools/desk/folder_beneath.hpp"

namespace tools {

/// What tells one state of a file from another without reading it.
struct FileMark {
    std::uint64_t device = 0, number = 0;
    std::int64_t size = 0;
    std::int64_t changed_ns = 0, status_ns = 0;  ///< since 1970
    /// Read so soon after a change that another one could bear the same times: then the mark says nothing.
    bool young = false;
    [[nodiscard]] bool same(const FileMark& other) const;
};

struct ReadFile {
    std::string bytes;
    FileMark mark;
    unsigned mode = 0;  ///< permission bits
    unsigned owner = 0, group = 0;
};

/// A regular file, no link, of at most sim::file_bytes_max bytes; nothing if there is none of that name.
proto::Result<std::optional<ReadFile>, Failure> read_whole(const PlaceBeneath& place);
/// The mark alone; nothing if there is no regular file of that name.
std::optional<FileMark> mark_of(const PlaceBeneath& place);

/// What is said where the computer says no; `error`: of errno.
Failure no_to(const std::string& shown, std::string_view what, int error);

/// All bytes written and synced, or errno.
int write_and_sync(int descriptor, std::string_view bytes);
/// The names in a folder are on the disk, or errno.
int sync_names(int folder);

/// The names in a folder, in no order; none if it cannot be read.
std::vector<std::string> names_in(int folder);
/// Whether the open file is the one of that name in the folder.
bool is_at(int descriptor, int folder, const std::string& name);
/// Takes the lock of a file that nobody has; false: somebody has it, or it is no longer the file of that name.
bool locked_alone(int descriptor, int folder, const std::string& name);
/// Removes files of that beginning that nobody holds a lock on.
void remove_left_over(int folder, std::string_view beginning);

/// What came of putting a file in its place.
struct PutFile {
    enum class Outcome : std::uint8_t { done, foreign, failed };
    Outcome outcome = Outcome::done;
    FileMark mark{};                      ///< of `done`
    std::optional<Failure> failure = {};  ///< of `failed`
};
/// Writes `bytes` in place of a file that holds `over`, or where there is none, without one. Whole or not at all, with
/// the old one's rights and, as far as this user may, its owner. Foreign: something else lies there, and still does.
PutFile put_whole(const PlaceBeneath& place, std::string_view bytes, const std::optional<std::string>& over);

}  // namespace tools
