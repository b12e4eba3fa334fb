#include "proto/profile.hpp"

#include <array>

#include "proto/bytes.hpp"
#include "proto/crc_faults.hpp"
#include "proto/parameters.hpp"

namespace proto {
namespace {

bool consistent(const Field& field) {
    return field.presence == Presence::absent ? field.bits == 0 : field.bits >= 1 && field.bits <= 32;
}

unsigned carried_bits(const Field& field) { return field.presence == Presence::carried ? field.bits : 0; }

}  // namespace

Result<Layout, ProfileFault> layout_of(const Profile& profile, unsigned payload_bytes, ProfileUse use) {
    if (!consistent(profile.address)) return ProfileFault::address_width;
    if (!consistent(profile.sequence)) return ProfileFault::sequence_width;
    if (profile.feedback && profile.sequence.bits == 0) return ProfileFault::feedback_alone;
    if (profile.time_stamp_bits != 0 && (profile.time_stamp_bits < 8 || profile.time_stamp_bits > 32))
        return ProfileFault::time_stamp_width;
    if (profile.time_stamp_bits != 0 && profile.time_stamp_unit.ns <= 0) return ProfileFault::time_stamp_unit;
    if (payload_bytes < 1 || payload_bytes > payload_bytes_max) return ProfileFault::payload_length;
    if (!profile.crc && use == ProfileUse::link) return ProfileFault::crc_missing;
    if (profile.crc && fault_in(*profile.crc)) return ProfileFault::crc_parameters;
    if (profile.copies != 1 && profile.copies != 2) return ProfileFault::copies;

    Layout layout;
    layout.header_bits = 8 + 2 * carried_bits(profile.address) + carried_bits(profile.sequence) +
                         (profile.feedback ? profile.sequence.bits : 0) + profile.time_stamp_bits + echo_bits(profile);
    layout.header_bytes = (layout.header_bits + 7) / 8;
    layout.payload_bytes = payload_bytes;
    layout.crc_bytes = profile.crc ? (profile.crc->width + 7) / 8 : 0;
    layout.copy_bytes = layout.header_bytes + layout.payload_bytes + layout.crc_bytes;
    layout.total_bytes = layout.copy_bytes * profile.copies;
    if (layout.total_bytes > telegram_bytes_max) return ProfileFault::too_long;
    return layout;
}

std::uint32_t identity_of(const Profile& profile) {
    std::array<std::uint8_t, 56> bytes{};
    const CrcSpec crc = profile.crc.value_or(CrcSpec{});
    std::uint8_t* at = bytes.data();
    const auto put = [&at](std::uint64_t value, unsigned count) {
        store_be(at, value, count);
        at += count;
    };
    put(static_cast<std::uint64_t>(profile.address.presence), 1);
    put(profile.address.bits, 1);
    put(static_cast<std::uint64_t>(profile.sequence.presence), 1);
    put(profile.sequence.bits, 1);
    put(static_cast<std::uint64_t>(profile.direction), 1);
    put(profile.feedback ? 1 : 0, 1);
    // the kind is the highest bit beside a width of at most 32
    const bool clock = profile.time_stamp_bits != 0 && profile.time_stamp_kind == StampKind::clock;
    put(profile.time_stamp_bits | (clock ? 0x80U : 0U), 1);
    put(profile.copies, 1);
    put(profile.time_stamp_bits != 0 ? static_cast<std::uint64_t>(profile.time_stamp_unit.ns) : 0, 8);
    put(profile.crc ? crc.width : 0, 1);
    put(crc.reflect_in ? 1 : 0, 1);
    put(crc.reflect_out ? 1 : 0, 1);
    put(profile.zero_as_one ? 1 : 0, 1);
    put(crc.polynomial, 8);
    put(crc.initial, 8);
    put(crc.final_xor, 8);
    return parameter_crc(std::span<const std::uint8_t>(bytes.data(), static_cast<std::size_t>(at - bytes.data())));
}

}  // namespace proto
