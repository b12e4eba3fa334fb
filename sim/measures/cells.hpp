#pragma once
// The matrix of errors and measures: what the study found, what is published, and where these differ the reason.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/measures/study.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

/// One error and one measure.
struct MeasureCell {
    ErrorKind error = ErrorKind::corruption;
    proto::Measure measure = proto::Measure::integrity;
    proto::Exchange exchange = proto::Exchange::streaming;
    unsigned trials = 0;
    unsigned detected = 0;   ///< trials in which this measure saw something wrong
    unsigned late = 0;       ///< loss or delay, seen by any measure only after it had become dangerous
    bool simulated = false;  ///< a measure alone: it saw every one; in a whole telegram: it saw any
    std::array<std::optional<bool>, source_count> published{};
    std::optional<bool> agrees;  ///< with all that is published; nothing if nothing is
    bool needs_reason = false;   ///< it does not agree, or the measure alone saw some and not all
    std::string why;             ///< that reason; empty if none is needed, or none is known
    std::vector<ErrorFinding::OfWay> ways;
    [[nodiscard]] bool explained() const { return !needs_reason || !why.empty(); }
};

/// One error in a link with all its measures, or without one of them.
struct CoverCell {
    ErrorKind error = ErrorKind::corruption;
    std::optional<proto::Measure> without;  ///< nothing: with all
    proto::Exchange exchange = proto::Exchange::streaming;
    Tally tally;
    std::string why;  ///< why something dangerous went unseen, or was seen too late; empty if nothing, or unexplained
    std::vector<ErrorFinding::OfWay> ways;
    [[nodiscard]] bool covered() const { return tally.missed == 0 && tally.late == 0; }
    [[nodiscard]] bool explained() const { return covered() || !why.empty(); }
};

struct MeasuresFound {
    std::vector<MeasureCell> cells;
    std::vector<CoverCell> whole, without;
    bool sound = true;  ///< every link ran, and none stopped without an error
    /// Every difference and every gap has its reason.
    [[nodiscard]] bool explained() const;
};

/// Each measure alone, all of them together, and all but one: streams made for the purpose.
MeasuresFound measures_one_by_one(const StudyEffort& effort);

/// The measures of a telegram profile, in each exchange that it can be used in; or why in none.
proto::Result<MeasuresFound, proto::SettingsError> measures_of(const proto::Profile& profile,
                                                               const StudyEffort& effort);

}  // namespace sim
