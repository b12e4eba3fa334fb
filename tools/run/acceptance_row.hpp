#pragma once
// A row of an acceptance test, of one link or of a whole cell.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "proto/time.hpp"
#include "sim/studies/acceptance.hpp"
#include "tools/text/value.hpp"

namespace tools {

inline constexpr unsigned measurements = 10;  ///< ISO 13855, from memory: ten, at the worst position and load

/// One row, filled in by its name as it is built.
struct AcceptanceRow {
    /// `device`: what the other end shows, or of a cell each station.
    std::string stage, act, controller, device, machine, clock = {}, reckoned = {}, rehearsal = {}, undo = {};
    std::optional<proto::Duration> allowed = {}, by_settings = {}, at_least = {}, rehearsed = {};
    std::optional<proto::Duration> stands_allowed = {}, stands_rehearsed = {};  ///< where it stands after its clock
    unsigned times = 1;
    enum class Need : unsigned char { always, optional_by_engineer } need = Need::always;
    std::optional<bool> passes = {};
    std::optional<std::size_t> function = {};
    std::string safeguard = {};
    std::string way = {};                        ///< of a cell: over which links
    std::optional<std::int64_t> slow_um_s = {};  ///< the speed is measured too
    bool noted = false;                          ///< what the ends show is written down there
};

/// What its rehearsal came to.
void tell(AcceptanceRow& row, const sim::Passes& seen);

/// `number`: from 1 on.
Value::Object describe(const AcceptanceRow& row, std::size_t number);

}  // namespace tools
