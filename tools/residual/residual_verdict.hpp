#pragma once
// What is asked of a telegram's residual error, and how the claimed level comes out.
#include <optional>
#include <string>
#include <vector>

#include "tools/residual/residual_study.hpp"

namespace tools {

/// How the claimed level comes out.
enum class LevelVerdict { not_asked, met, not_met };

/// By every method that gives a rate, or by the one named `method` (empty: all). A level that no method can judge is
/// not met.
LevelVerdict verdict_of(const std::vector<sim::MethodResult>& methods, const std::string& method);

/// What the sentences need besides the study.
struct ResidualAsked {
    std::optional<unsigned> level;
    std::string method;  ///< that decides; empty: all
    std::optional<double> telegrams_per_hour;
    unsigned receivers = 1;
};

/// The highest level, 0 for none, that all methods with a rate (or the one named) leave room for; nothing if none has a
/// rate.
std::optional<unsigned> level_carried(const std::vector<sim::MethodResult>& methods, const std::string& method);

/// One length of a scan.
struct ScannedLength {
    unsigned payload_bytes = 0;
    ResidualStudy study;
};
/// The first length that loses the level, or 0.
unsigned first_lost(const std::vector<ScannedLength>& lengths, const std::string& method);

}  // namespace tools
