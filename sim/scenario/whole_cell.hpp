#pragma once
// Several links at one controller, with the machines and guards of a whole cell, as a person wrote them down.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/functions.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

inline constexpr std::size_t cell_links_max = 8;

/// What several links share, so that one episode may disturb all of them: a wire, a switch, a radio.
struct Segment {
    std::string name;
    std::vector<std::size_t> links;  ///< in the order of the cell
    std::string source;              ///< why nothing else joins its links to those of other segments
    Place where;
};

/// One link of a cell.
///
/// `alone` is that link as if it stood alone, so that everything made for one link holds for it: its ends, its channel,
/// its faults, and the machine at its device if there is one. It has all safeguards, signals and demands of the cell,
/// under the same numbers in every link, so that words of signals mean the same everywhere: a safeguard or a signal of
/// another link is one that the controller knows.
struct CellLink {
    std::string name;
    Scenario alone;
    Place where;
};

struct WholeCell {
    std::string file;
    std::string title;
    std::string shows;
    std::string plant;
    std::uint64_t seed = 1;
    Duration duration{};
    std::string expect_verdict = "pass";
    std::string text = {};          ///< what was read, if `file` is one that nobody can read again
    Duration scan{};                ///< of the controller; each link's cycle is a multiple
    bool acknowledges_all = false;  ///< an act of the operator acknowledges every link
    std::vector<CellLink> links;
    std::vector<Segment> segments;  ///< that are written down; what is in none is on one with all the others
    /// For all links together; each has its own besides. Unless stated nothing is asked of the sum.
    TripLimit trip_limit = {};
    std::vector<SafetyFunction> functions;  ///< as written, with what they ask of every machine
    /// By safeguard: the link at whose device it is read; nothing at the controller.
    std::vector<std::optional<std::size_t>> safeguards;
    std::vector<Duration> minimum_holds;  ///< by safeguard, as typed; 0: as long as the links on its way need
    std::vector<std::size_t> signals;     ///< the link of each signal

    /// The link of that name; one past the last if there is none.
    [[nodiscard]] std::size_t link_called(std::string_view name) const;
    /// What the file says of no link in particular, of which provenance is written: the first link's without its name.
    [[nodiscard]] Scenario of_file() const;
    /// The station that reads it, by its name.
    [[nodiscard]] const std::string& station_of_safeguard(std::size_t safeguard) const;
    /// One episode may disturb both: they are on one segment, or nothing says that they are not.
    [[nodiscard]] bool share_a_segment(std::size_t a, std::size_t b) const;
};

}  // namespace sim
