#include "sim/reading/setting_blamed.hpp"

#include <algorithm>
#include <cstdint>

#include "proto/telegram.hpp"
#include "sim/reading/addresses.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

using proto::LinkSettings;
using proto::SettingsFault;

std::string quoted_profile(const TypedEnd& end) { return in_quotes(end.profile_file); }

SettingBlamed address(const TypedEnd& end) {
    const LinkSettings& s = end.link;
    const std::uint64_t largest = (std::uint64_t{1} << s.profile.address.bits) - 1;
    const bool own = s.own_address > largest;
    return {own ? "address" : "peer_address", too_wide(own ? end.own_address() : end.peer_address(), end, largest)};
}

SettingBlamed missing_allowed(const LinkSettings& s) {
    if (s.exchange == proto::Exchange::polled) {
        return {"missing_allowed",
                "means nothing in a polled link, where the number only advances with its "
                "answer; take it away"};
    }
    return {"missing_allowed", std::to_string(s.missing_allowed) + " is too much for " +
                                   std::to_string(s.profile.sequence.bits) + " bits of number; write less than " +
                                   std::to_string((std::uint64_t{1} << (s.profile.sequence.bits - 1)) - 1)};
}

SettingBlamed max_lag(const TypedEnd& end) {
    const LinkSettings& s = end.link;
    if (s.exchange == proto::Exchange::polled) return {"max_lag", "means nothing in a polled link; take it away"};
    if (!s.profile.feedback) {
        return {"max_lag", quoted_profile(end) +
                               " has no feedback field to judge by; take max_lag away, or write another "
                               "profile"};
    }
    return {"max_lag", std::to_string(s.max_lag.value_or(0)) + " is over half the number range; write less than " +
                           std::to_string(std::uint64_t{1} << (s.profile.sequence.bits - 1))};
}

SettingBlamed period(const char* key, Duration typed) {
    return {key, written(typed) + " is not within 0.1 ms to 10 s in whole microseconds; write \"10 ms\""};
}

SettingBlamed watchdog(const LinkSettings& s, const std::array<std::optional<Duration>, 2>& meant) {
    const bool own = s.watchdog <= s.cycle || s.watchdog.ns % 1000 != 0;
    const Duration bad = own ? s.watchdog : s.peer_watchdog;
    if (bad > s.cycle) return {"watchdog", written(bad) + " is no whole number of microseconds; write \"45 ms\""};
    const std::optional<Duration>& as_meant = meant[own == (s.end == End::controller) ? 0 : 1];
    const std::string mend = as_meant && *as_meant > s.cycle
                                 ? "\"" + written(*as_meant) + "\", as the link itself has it"
                                 : "\"" + written(s.cycle * 2) + "\" or more";
    return {"watchdog", written(bad) + (bad == s.cycle ? " is only the cycle (" : " is under the cycle (") +
                            written(s.cycle) + "); write " + mend};
}

SettingBlamed max_age(const TypedEnd& end) {
    const LinkSettings& s = end.link;
    if (s.profile.time_stamp_bits == 0) {
        return {"max_age", quoted_profile(end) +
                               " has no time stamp to judge by; take max_age away, or write another "
                               "profile"};
    }
    const std::int64_t units = (std::int64_t{1} << (s.profile.time_stamp_bits - 1)) - 1;
    const Duration longest = s.profile.time_stamp_unit * units;
    return {"max_age", (s.max_age.ns == 0 ? std::string("is missing, and ") : written(s.max_age) + " does not fit: ") +
                           quoted_profile(end) + " has a time stamp; write max_age = \"" +
                           written(s.profile.time_stamp_unit) + "\" to \"" + written(longest) + "\""};
}

SettingBlamed max_early(const TypedEnd& end) {
    const LinkSettings& s = end.link;
    if (s.profile.time_stamp_bits == 0 || s.profile.time_stamp_kind == proto::StampKind::echo) {
        return {"max_early", quoted_profile(end) +
                                 " has no stamp of the sender's clock to judge by; take max_early away, or "
                                 "write another profile"};
    }
    const std::int64_t range = (std::int64_t{1} << s.profile.time_stamp_bits) - 1;
    const Duration room = s.profile.time_stamp_unit * range - s.max_age - std::max(s.watchdog, s.peer_watchdog);
    const Duration longest = std::min(room, s.profile.time_stamp_unit * (range / 2));
    return {"max_early",
            (s.max_early.ns == 0 ? std::string("is missing, and ") : written(s.max_early) + " does not fit: ") +
                quoted_profile(end) + " has a stamp of the sender's clock; write max_early = \"" +
                written(s.profile.time_stamp_unit) + "\" or more, below \"" + written(longest) + "\""};
}

SettingBlamed profile(const TypedEnd& end, const char* why) { return {"profile", quoted_profile(end) + why}; }

}  // namespace

SettingBlamed setting_blamed(const TypedEnd& end, const proto::SettingsError& error,
                             const std::array<std::optional<Duration>, 2>& meant) {
    const LinkSettings& s = end.link;
    switch (error.fault) {
        case SettingsFault::profile:
            return {"payload", quoted_profile(end) + " with this payload is over " +
                                   std::to_string(proto::telegram_bytes_max) +
                                   " bytes, all copies together; write a shorter payload"};
        case SettingsFault::address_too_wide: return address(end);
        case SettingsFault::polled_needs_number:
            return profile(end,
                           " has a sequence number of under 2 bits, which a polled link needs; write a profile with "
                           "one");
        case SettingsFault::polled_feedback:
            return profile(end,
                           " has a feedback field, but the number of a polled answer already is the feedback; write a "
                           "profile without it");
        case SettingsFault::streaming_needs_number:
            return profile(end,
                           " has a sequence number of under 2 bits, which a streaming link needs; write a profile with "
                           "one");
        case SettingsFault::missing_allowed: return missing_allowed(s);
        case SettingsFault::max_lag: return max_lag(end);
        case SettingsFault::cycle: return period("cycle", s.cycle);
        case SettingsFault::scan: return period("scan", s.scan);
        case SettingsFault::watchdog: return watchdog(s, meant);
        case SettingsFault::error_interval: return {"error_interval", "is negative; write \"6 min\""};
        case SettingsFault::max_age: return max_age(end);
        case SettingsFault::max_early: return max_early(end);
        case SettingsFault::claimed_level: return {"claimed_sil", "is not 1 to 4; write 2"};
        case SettingsFault::loop_back_unseen:
            return profile(end,
                           " has neither direction nor addresses: an end would take its own telegram, looped back, for "
                           "its peer's; write a profile that shows the direction");
        case SettingsFault::without_crc:
            return profile(end, " has no CRC, which exists only in the comparison of measures; write another");
        case SettingsFault::number_not_judged:
            return {"profile", "numbers that nobody judges exist only in the comparison of measures"};
    }
    return {"profile", "does not fit these settings; write another"};
}

}  // namespace sim
