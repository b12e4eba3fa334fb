#pragma once
// Typing an address. A file says it at its own end, and at the other only where that has another one: so what is typed
// in one cell must not turn the other, and what is meant is typed for both at once.
#include <optional>
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "sim/reading/read.hpp"

namespace sim {
class WrittenFile;
}

namespace tools {

struct AddressPaths {
    std::string own, peer;  ///< "device.address", "controller.peer_address"
};
/// The path of the cell of what is meant: an edit of it is one of both ends.
std::string both_paths(const AddressPaths& paths);

/// The text with what a person typed at that path, or nothing where it is the path of no address. An empty value: as
/// meant. Or why it cannot be.
std::optional<proto::Result<std::string, sim::FileError>> with_address(const sim::WrittenFile& file,
                                                                       std::string_view path, std::string_view typed);

/// The same of the watchdog of both ends: one that [link] has for either end alone goes, or it would count. Nothing
/// where the path is another, or no end has one alone.
std::optional<proto::Result<std::string, sim::FileError>> with_one_watchdog(const sim::WrittenFile& file,
                                                                            std::string_view path,
                                                                            std::string_view typed);

}  // namespace tools
