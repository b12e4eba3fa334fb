#pragma once
// What `residual` shows: one telegram, several CRCs side by side, or one profile over all lengths.
#include <string>
#include <vector>

#include "tools/program/command.hpp"
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

Value describe(const ResidualStudy& study, const ResidualAsked& asked);
Page page_of(const ResidualStudy& study, const ResidualAsked& asked, Columns columns);

Value describe_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked);
Page page_of_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked, Columns columns);

/// One length of a scan.
struct ScannedLength {
    unsigned payload_bytes;
    ResidualStudy study;
};
Value describe_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked);
Page page_of_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked, Columns columns);
/// The first length that loses the level, or 0.
unsigned first_lost(const std::vector<ScannedLength>& lengths, const std::string& method);

}  // namespace tools
