#include "proto/link_settings.hpp"

#include <algorithm>

#include "proto/bytes.hpp"
#include "proto/parameters.hpp"
#include "proto/telegram.hpp"

namespace proto {
namespace {

constexpr Duration cycle_min = microseconds(100);
constexpr Duration cycle_max = seconds(10);
constexpr Duration watchdog_max = seconds(3600);

bool whole_microseconds(Duration d) { return d.ns % 1000 == 0; }
bool cycle_possible(Duration d) { return d >= cycle_min && d <= cycle_max && whole_microseconds(d); }
bool watchdog_possible(Duration watchdog, Duration cycle) {
    return watchdog > cycle && watchdog <= watchdog_max && whole_microseconds(watchdog);
}

std::optional<SettingsFault> fault_in_numbers(const LinkSettings& s) {
    const unsigned bits = s.profile.sequence.bits;
    if (s.exchange == Exchange::polled) {
        if (bits < 2) return SettingsFault::polled_needs_number;  // two bits, or n-1 and n+1 are the same
        if (s.profile.feedback) return SettingsFault::polled_feedback;
        if (s.missing_allowed != 0) return SettingsFault::missing_allowed;
        if (s.max_lag) return SettingsFault::max_lag;
        return std::nullopt;
    }
    if (bits < 2) return SettingsFault::streaming_needs_number;
    // a window of half the range or more could take an old number for a new one
    if (s.missing_allowed > 255 || std::uint64_t{s.missing_allowed} + 1 >= std::uint64_t{1} << (bits - 1))
        return SettingsFault::missing_allowed;
    if (s.max_lag && (!s.profile.feedback || *s.max_lag == 0 || *s.max_lag >= std::uint64_t{1} << (bits - 1)))
        return SettingsFault::max_lag;
    return std::nullopt;
}

bool loop_back_seen(const LinkSettings& s) {
    // the direction tells, or the addresses do when a sender's own come back the wrong way round. What is only
    // implied tells nothing if both ways leave the CRC's register alike.
    if (s.profile.direction == Presence::carried || s.profile.address.presence == Presence::carried) return true;
    const CrcEngine crc = CrcEngine::make(*s.profile.crc).value();
    const Codec there(s.profile, &crc, s.end, s.own_address, s.peer_address, s.payload_sent);
    const Codec back(s.profile, &crc, other(s.end), s.peer_address, s.own_address, s.payload_sent);
    return there.implied_register() != back.implied_register();
}

std::uint32_t digest_of(const BitUse& bits, unsigned payload_bytes) {
    return parameter_crc(std::span<const std::uint8_t>(bits.data(), payload_bytes));
}

std::uint32_t whole_us(Duration d) { return static_cast<std::uint32_t>(d.ns / 1000); }

std::optional<SettingsFault> fault_in_ages(const LinkSettings& s, ProfileUse use) {
    if (s.profile.time_stamp_bits != 0) {
        const std::int64_t units = s.max_age.ns / s.profile.time_stamp_unit.ns;
        const std::int64_t range = low_mask(s.profile.time_stamp_bits);
        if (units < 1 || units > range / 2) return SettingsFault::max_age;
        // what the watchdogs let pass must not be so late that the stamp has come round and looks young again
        const Duration unwatched = std::max(s.watchdog, s.peer_watchdog) + s.max_age;
        if (use == ProfileUse::link && unwatched.ns / s.profile.time_stamp_unit.ns >= range)
            return SettingsFault::max_age;
        if (s.profile.time_stamp_kind == StampKind::clock) {
            // ages lie on both sides of 0, in one range
            const std::int64_t early = s.max_early.ns / s.profile.time_stamp_unit.ns;
            if (early < 1 || early > range / 2) return SettingsFault::max_early;
            if (use == ProfileUse::link && (unwatched + s.max_early).ns / s.profile.time_stamp_unit.ns >= range)
                return SettingsFault::max_early;
        }
    } else if (s.max_age.ns != 0) {
        return SettingsFault::max_age;
    }
    if (s.max_early.ns != 0 && (s.profile.time_stamp_bits == 0 || s.profile.time_stamp_kind == StampKind::echo))
        return SettingsFault::max_early;
    return std::nullopt;
}

/// What matters only where two ends exchange telegrams, not for a look at one measure alone.
std::optional<SettingsFault> fault_in_link(const LinkSettings& s) {
    if (s.number_use != NumberUse::judged) return SettingsFault::number_not_judged;
    if (const auto fault = fault_in_numbers(s)) return fault;
    if (!watchdog_possible(s.watchdog, s.cycle) || !watchdog_possible(s.peer_watchdog, s.cycle))
        return SettingsFault::watchdog;
    if (!loop_back_seen(s)) return SettingsFault::loop_back_unseen;
    return std::nullopt;
}

}  // namespace

std::optional<SettingsError> fault_in(const LinkSettings& s, ProfileUse use) {
    for (const unsigned payload : {s.payload_sent, s.payload_received}) {
        const auto layout = layout_of(s.profile, payload, use);
        if (!layout) return SettingsError{SettingsFault::profile, layout.error()};
    }
    const auto plain = [](SettingsFault fault) { return SettingsError{fault, std::nullopt}; };
    const std::uint32_t mask = low_mask(s.profile.address.bits);
    if (s.profile.address.presence != Presence::absent && ((s.own_address | s.peer_address) & ~mask) != 0)
        return plain(SettingsFault::address_too_wide);
    if (!cycle_possible(s.cycle)) return plain(SettingsFault::cycle);
    if (!cycle_possible(s.scan) || (s.end == End::controller && s.scan != s.cycle)) return plain(SettingsFault::scan);
    if (use == ProfileUse::link) {
        if (const auto fault = fault_in_link(s)) return plain(*fault);
    }
    if (s.error_interval.ns < 0) return plain(SettingsFault::error_interval);
    if (const auto fault = fault_in_ages(s, use)) return plain(*fault);
    if (s.claimed_level < 1 || s.claimed_level > 4) return plain(SettingsFault::claimed_level);
    return std::nullopt;
}

LinkParameters parameters_of(const LinkSettings& s) {
    const bool controller = s.end == End::controller;
    LinkParameters p;
    p.controller_address = controller ? s.own_address : s.peer_address;
    p.device_address = controller ? s.peer_address : s.own_address;
    p.exchange = s.exchange;
    p.profile_identity = identity_of(s.profile);
    const unsigned to_device = controller ? s.payload_sent : s.payload_received;
    const unsigned to_controller = controller ? s.payload_received : s.payload_sent;
    p.payload_to_device = static_cast<std::uint16_t>(to_device);
    p.payload_to_controller = static_cast<std::uint16_t>(to_controller);
    p.bits_to_device = digest_of(controller ? s.bits_sent : s.bits_received, to_device);
    p.bits_to_controller = digest_of(controller ? s.bits_received : s.bits_sent, to_controller);
    p.byte_order = s.byte_order;
    p.cycle_us = whole_us(s.cycle);
    p.watchdog_controller_us = whole_us(controller ? s.watchdog : s.peer_watchdog);
    p.watchdog_device_us = whole_us(controller ? s.peer_watchdog : s.watchdog);
    p.missing_allowed = static_cast<std::uint8_t>(s.missing_allowed);
    p.claimed_level = static_cast<std::uint8_t>(s.claimed_level);
    return p;
}

}  // namespace proto
