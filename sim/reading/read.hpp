#pragma once
// Reading scenario and profile files. The format is described in scenarios/README.md.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "proto/profile.hpp"
#include "proto/result.hpp"

namespace sim {

struct ModuleLayout;
struct Scenario;

/// Why a file cannot be used: one thing, the first one found.
struct FileError {
    /// Whose fault it is: the file's, or the machine's (no right to read it).
    enum class Kind : std::uint8_t { input, machine };
    std::string file;
    int line = 0;         ///< 1.., 0 if it is about no line
    std::string key;      ///< dotted, "fault[3].at" (counted from 1); empty if it is about no key
    std::string message;  ///< what is wrong; what would be right
    Kind kind = Kind::input;

    /// "FILE:LINE: key: message" on one physical line, whatever the file holds.
    [[nodiscard]] std::string one_line() const;
};

/// Files over this size are refused unread.
inline constexpr std::uint64_t file_bytes_max = 1'000'000;

/// Why a text of `size` bytes, of which `text` is the beginning, can be no file of ours before it is parsed: it is
/// empty, no text, or longer than that.
std::optional<FileError> unfit_text(std::string_view text, std::uint64_t size, const std::string& path);

enum class FileKind : std::uint8_t {
    scenario,
    profile,
    drill,         ///< it tells a `story`
    action_cards,  ///< of a folder of drills
    module,        ///< a payload layout with a name
};

/// Tells by its keys what a file is, without judging the rest of it.
proto::Result<FileKind, FileError> kind_of_file(const std::string& path);
/// The same of a text; `path` is where it comes from, for messages.
proto::Result<FileKind, FileError> kind_of_text(const std::string& text, const std::string& path);

/// The scenario in a file, with the profiles that it names, or the first thing that is wrong with it.
proto::Result<Scenario, FileError> read_scenario(const std::string& path);
/// The same of a text; what it names is looked for as if it were the file at `path`.
proto::Result<Scenario, FileError> scenario_in(const std::string& text, const std::string& path);

/// The telegram profile in a file, or the first thing that is wrong with it.
proto::Result<proto::Profile, FileError> read_profile(const std::string& path);
/// The same of a text; `path` is where it comes from, for messages and for a profile without a name.
proto::Result<proto::Profile, FileError> profile_in(const std::string& text, const std::string& path);

/// The payload layout in the file of a module, or the first thing that is wrong with it.
proto::Result<ModuleLayout, FileError> read_module(const std::string& path);
/// The same of a text; `path` is where it comes from, for messages and for a module without a name.
proto::Result<ModuleLayout, FileError> module_in(const std::string& text, const std::string& path);

}  // namespace sim
