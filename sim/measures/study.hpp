#pragma once
// Every communication error goes through the full simulation of a link, its neighbour running beside it: at a random
// phase, with random payloads, in each way in which the error comes about. What is counted is which measures saw it.
#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "sim/measures/links.hpp"
#include "sim/measures/published.hpp"
#include "sim/measures/trial.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

/// The eight communication errors, in the order of IEC 61784-3.
inline constexpr std::array study_errors{ErrorKind::corruption, ErrorKind::repetition, ErrorKind::incorrect_sequence,
                                         ErrorKind::loss,       ErrorKind::delay,      ErrorKind::insertion,
                                         ErrorKind::masquerade, ErrorKind::addressing};
inline constexpr std::size_t study_error_count = study_errors.size();

/// What became of the trials of one error, or of one way of it.
struct Tally {
    unsigned trials = 0;
    std::array<unsigned, proto::measure_count> seen{};  ///< trials in which that measure saw something wrong
    unsigned seen_by_any = 0;
    unsigned late = 0;           ///< of these: loss or delay, seen only after it had become dangerous
    unsigned harmless = 0;       ///< nobody saw it, and nothing dangerous came of it
    unsigned missed = 0;         ///< nobody saw it, and it was dangerous
    unsigned as_in_table_2 = 0;  ///< seen by a measure that IEC 62541-15, Table 2 marks for the error

    [[nodiscard]] unsigned by(proto::Measure measure) const { return seen[static_cast<std::size_t>(measure)]; }
    void add(const Tally& other);
};

struct ErrorFinding {
    ErrorKind error = ErrorKind::corruption;
    Tally all;
    struct OfWay {
        StudyWay way;
        Tally tally;
    };
    std::vector<OfWay> ways;
    unsigned not_tried = 0;  ///< trials in which the link did not run, so that nothing could go wrong: must be 0
};

/// What a link made of all errors, by the order of study_errors, and of as many trials without any error.
struct LinkFinding {
    std::array<ErrorFinding, study_error_count> errors;
    /// As many trials without an error: in none of them anything may be seen.
    struct Control {
        unsigned trials = 0, seen = 0, not_started = 0;
    } control;
    /// The link ran in every trial, and stopped in none without an error.
    [[nodiscard]] bool sound() const;
};

struct StudyEffort {
    std::uint64_t seed = 1;
    unsigned trials = 100;  ///< of each error on each link, at least 1
    unsigned jobs = 1;      ///< threads; the result does not depend on it
    /// Told from one of the threads at a time: the share that is done, 0..1.
    std::function<void(double)> progress = {};
};

/// Tries every error on each of the links. A trial of an error draws alike on all links, so that these can be compared.
/// The same links, seed and trials give the same findings.
std::vector<LinkFinding> study(const std::vector<StudyLink>& links, const StudyEffort& effort);

}  // namespace sim
