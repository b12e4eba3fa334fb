#pragma once
// The stores of a campaign's parts, looked at one after the other: which parts there are, how far each is, and which
// are missing. For joining them and for --status.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "tools/campaign/trial_store.hpp"

namespace tools {

struct PartStore {
    std::string path;
    CampaignKey key;                 ///< shard 0: it was not told yet, all is in the log
    std::uint64_t kept = 0;          ///< trials; of one with a log, as far as the file itself has them
    std::optional<std::string> log;  ///< it is being written, or its process was killed
    bool worked_on = false;          ///< by a process of this computer, now
    [[nodiscard]] std::uint64_t wanted() const { return key.shard == 0 ? 0 : key.range().count(); }
    [[nodiscard]] bool complete() const { return !log && !worked_on && key.shard > 0 && kept == wanted(); }
};

/// All of them, in the order of their parts; each is closed again. Refused: one that is no store or altered, one that
/// is named twice, one of another campaign than `wanted` (any number of trials, if it says 0) or than the first, a part
/// that is there twice.
proto::Result<std::vector<PartStore>, Failure> look_at_stores(const std::vector<std::string>& paths,
                                                              const CampaignKey& wanted);

/// Numbers of the parts that none of them is, in their order.
std::vector<std::uint64_t> missing_parts(const std::vector<PartStore>& parts);

/// "3, 5 to 9", of numbers in order.
std::string ranges_of(const std::vector<std::uint64_t>& numbers);
/// "3,5-9", as job schedulers take lists.
std::string list_of(const std::vector<std::uint64_t>& numbers);

}  // namespace tools
