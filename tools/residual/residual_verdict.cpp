#include "tools/residual/residual_verdict.hpp"

#include <algorithm>

namespace tools {

LevelVerdict verdict_of(const std::vector<sim::MethodResult>& methods, const std::string& method) {
    bool asked = false, any = false, all = true;
    for (const sim::MethodResult& result : methods) {
        if (result.share_per_hour) asked = true;
        if (!method.empty() && result.name != method) continue;
        if (!result.met) continue;
        any = true;
        all = all && *result.met;
    }
    if (!asked) return LevelVerdict::not_asked;
    return any && all ? LevelVerdict::met : LevelVerdict::not_met;
}

std::optional<unsigned> level_carried(const std::vector<sim::MethodResult>& methods, const std::string& method) {
    std::optional<unsigned> level;
    for (const sim::MethodResult& result : methods) {
        if (!result.rate_per_hour || (!method.empty() && result.name != method)) continue;
        level = std::min(level.value_or(4), sim::level_for(*result.rate_per_hour));
    }
    return level;
}

unsigned first_lost(const std::vector<ScannedLength>& lengths, const std::string& method) {
    for (const ScannedLength& length : lengths)
        if (verdict_of(length.study.methods, method) != LevelVerdict::met) return length.payload_bytes;
    return 0;
}

}  // namespace tools
