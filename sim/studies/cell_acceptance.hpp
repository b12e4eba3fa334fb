#pragma once
// The acts of the acceptance test on a whole cell: each guard demanded for each machine that it must stop, reckoned
// over all links on its way and rehearsed with all of them joined, and each link's cable pulled.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/acceptance_study.hpp"

namespace sim {

/// A guard looked at alone while every machine stands.
struct CellLook {
    std::size_t safeguard = 0;                 ///< the same number in every link
    std::optional<std::size_t> function = {};  ///< the first that names it, index in WholeCell::functions
    Passes passes;
};

/// A guard demanded, for one machine. In the act the function counts in that machine's own link, in words in the cell.
struct CellDemandAct {
    std::size_t machine_link = 0;
    std::optional<std::size_t> function = {};  ///< index in WholeCell::functions
    RehearsedAct rehearsed;
};

/// A link's cable pulled, and what becomes of one machine.
struct CellCutAct {
    std::size_t link = 0;  ///< whose cable
    std::size_t machine_link = 0;
    enum class Must : std::uint8_t {
        stop,   ///< it hangs on that link, by the wiring
        go_on,  ///< it has nothing to do with it
    } must = Must::stop;
    std::int64_t slow_um_s = 0;       ///< the clock stops once it is at or under this speed; 0: when it stands
    std::optional<Duration> allowed;  ///< of one that must stop: at most, by the settings; nothing if none can be told
    std::optional<Duration> rehearsed;  ///< the longest
    std::string reckoned;  ///< `allowed` in words with numbers, of a machine at the link itself; else empty
    Passes passes;
};

struct CellAcceptance {
    std::uint64_t seed = 0;
    std::vector<std::optional<std::uint32_t>> signatures;  ///< by link, of the parameters; nothing if its ends differ
    std::vector<CellLook> looks;
    std::vector<CellDemandAct> demands;  ///< at reduced speed first, where a machine has one, then at full speed
    std::vector<CellCutAct> cuts;        ///< by link, then by machine
    /// By function of the cell: what its own distance needs, by the settings; nothing without one.
    std::vector<std::optional<Distance>> function_distances;
};

/// Requires a cell as read_cell() gives it. The same cell and seed give the same study.
CellAcceptance study_acceptance(const WholeCell& cell, std::uint64_t seed);

/// The signals of that link that fall with that safeguard, whatever links it crosses on its way there; one bit each.
std::uint64_t falling_on_link(const WholeCell& cell, std::size_t link, std::size_t safeguard);

}  // namespace sim
