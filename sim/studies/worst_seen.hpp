#pragma once
// The worst response that can be seen: a search in the full simulation over the phases of the two ends and the placing
// of one fault episode, which makes telegrams late, all at once or later and later, and then loses all. Scattered
// placings first, then the best of them are moved about, further and further refined. What it finds can happen; that
// nothing worse can is for the bound to say.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

/// One placing. Times count from a moment at which the link runs undisturbed.
struct Placing {
    Duration phase{};                         ///< of the device's first scan
    bool longest_delays = true;               ///< ordinary delays of the channel: the longest, else the shortest
    bool late_out = true, late_back = false;  ///< which ways are late
    bool creeps = false;                      ///< later and later over `lasting`, and on until all is lost
    Duration begin{}, lasting{};              ///< telegrams sent in this time are late
    Duration extra{};                         ///< by so much, creeping: at the end of `lasting`
    Duration silence_out{}, silence_back{};   ///< from then on all is lost
    Duration demand{};
};

struct WorstSeen {
    Duration link{};  ///< from the demand's contact to the output command
    Placing placing;
    std::uint64_t tried = 0;    ///< placings simulated
    bool link_started = false;  ///< with false nothing could be tried: the two ends disagree
    bool reaches = true;        ///< with false a demand does not reach the output even without a fault: bit maps differ
    bool never = false;         ///< a demand did not reach the output in a fault
    /// There is something to compare with the bound.
    [[nodiscard]] bool any() const { return link_started && reaches; }
};

struct SearchEffort {
    std::uint64_t placings = 12'000;  ///< about so many, at least 100
    unsigned jobs = 1;                ///< threads; the result does not depend on it
    /// Told from one of the threads, now and then: placings tried, of about so many.
    std::function<void(std::uint64_t done, std::uint64_t of)> progress = {};
};

/// Searches for the worst response of the safeguard that response_of() reckons with. Channel losses, queues and the
/// scenario's own faults are left out. The same scenario and effort give the same result.
WorstSeen search_worst(const Scenario& scenario, const SearchEffort& effort);

/// What one placing gives: from the contact to the output command, or the age of the oldest value used, where the
/// demand takes one way only (a demand just after its sampling would have waited so long).
Duration seen_with(const Scenario& scenario, const Placing& placing);

/// "late both ways by 31 ms, begun 4 ms before the demand, then nothing".
std::string words_of(const Placing& placing);

}  // namespace sim
