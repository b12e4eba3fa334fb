#pragma once
// What a measurement of round trips came to, judged, for its page, document and sheet.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/live/round_trips.hpp"
#include "sim/roundtrips/figures.hpp"

namespace tools {

enum class RoundTripVerdict : std::uint8_t {
    measured,
    not_measured,  ///< nothing came back, or one alone, which is no distribution
    refused,       ///< the other computer answers somebody else
    not_believed,  ///< this computer was too late itself
};

struct RoundTripFinding {
    sim::AskOptions asked;
    sim::AskOutcome outcome;
    sim::RoundTripFigures figures;
    std::vector<sim::Gap> gaps;
    RoundTripVerdict verdict = RoundTripVerdict::measured;
    std::string folder;

    /// Two came back at least: there are figures, and a scenario can read the file.
    [[nodiscard]] bool some() const { return figures.sent - figures.lost >= 2; }
};
RoundTripFinding finding_of(sim::AskOptions asked, sim::AskOutcome outcome, std::string folder);

/// What own lateness is believed: 99 of 100 left within a cycle, and no more than one of 100 did not leave at all.
std::string belief_in_words();

/// Names of the files in the folder.
inline constexpr const char* round_trips_csv = "round_trips.csv";
inline constexpr const char* round_trips_page = "roundtrips.html";

/// What a scenario's [channel] is given to read the file.
std::string round_trips_key();

/// "0.043 ms", "1.25 ms", "12.5 ms", "1 250 ms": rounded up, so that nothing looks shorter than it was.
std::string fine_ms(proto::Duration time);

}  // namespace tools
