#pragma once
// A telegram profile: which measures a telegram carries and how wide their fields are. The byte layout that follows
// from it is described in FORMAT.md.
#include <cstdint>
#include <optional>
#include <string>

#include "proto/crc.hpp"
#include "proto/result.hpp"
#include "proto/time.hpp"

namespace proto {

/// Longest telegram in bytes, all copies together.
inline constexpr unsigned telegram_bytes_max = 300;
/// Longest payload in bytes.
inline constexpr unsigned payload_bytes_max = 250;

/// How a telegram shows something: not at all, in its bytes, or only in what its CRC was taken over.
enum class Presence : std::uint8_t { absent, carried, implied };

struct Field {
    Presence presence = Presence::absent;
    unsigned bits = 0;  ///< 0 exactly if absent, else 1..32
    friend bool operator==(const Field&, const Field&) = default;
};

/// Whose clock tells the age of a telegram.
enum class StampKind : std::uint8_t {
    echo,   ///< the receiver's: its own stamp comes back, which is the age of a round trip
    clock,  ///< the sender's: the age of one way, after the offset of the clocks was measured in the handshake
};

struct Profile {
    std::string name;                             ///< for people; not part of the identity
    Field address;                                ///< source and destination, each of this width
    Field sequence;                               ///< sequence number
    Presence direction = Presence::carried;       ///< carried: a bit of the status byte
    bool feedback = false;                        ///< a field of the sequence number's width: the number last accepted
    unsigned time_stamp_bits = 0;                 ///< 0 or 8..32: own stamp and, for an echo, the peer's last stamp
    StampKind time_stamp_kind = StampKind::echo;  ///< decides nothing without time stamps
    Duration time_stamp_unit = microseconds(100);
    unsigned payload_bytes = 8;  ///< 1..250; an end may type another length
    std::string crc_name;        ///< catalogue name, empty if given by parameters
    std::optional<CrcSpec> crc;  ///< none exists only to look at one measure alone
    bool zero_as_one = false;    ///< a CRC result of 0 is sent as 1 (as IEC 62541-15 does)
    unsigned copies = 1;         ///< 1 or 2; the second is the bitwise inverse of the first
};

/// Whether the peer's last stamp is sent back in each telegram.
constexpr unsigned echo_bits(const Profile& profile) {
    return profile.time_stamp_kind == StampKind::echo ? profile.time_stamp_bits : 0;
}

/// Widths and places that follow from a profile and a payload length.
struct Layout {
    unsigned header_bits = 0;
    unsigned header_bytes = 0;
    unsigned payload_bytes = 0;
    unsigned crc_bytes = 0;
    unsigned copy_bytes = 0;   ///< one copy
    unsigned total_bytes = 0;  ///< all copies, at most telegram_bytes_max
};

enum class ProfileFault : std::uint8_t {
    address_width,     ///< a presence without bits, bits without presence, or over 32 bits
    sequence_width,    ///< the same for the sequence number
    feedback_alone,    ///< feedback without a sequence number
    time_stamp_width,  ///< not 0 or 8..32 bits
    time_stamp_unit,   ///< not positive
    payload_length,    ///< not 1..250 bytes
    crc_parameters,    ///< see CrcSpecError
    crc_missing,       ///< no CRC outside a look at one measure alone
    copies,            ///< not 1 or 2
    too_long,          ///< more than 300 bytes in all
    loop_back_unseen,  ///< nothing tells a sender's own telegram from its peer's
};

/// Where a profile stands: strict for links, lenient only for looking at one measure alone.
enum class ProfileUse : std::uint8_t { link, single_measure };

/// The layout with a payload of `payload_bytes`, or the first fault found (loop_back_unseen is judged by the
/// addresses too, see LinkSettings, and never returned here).
Result<Layout, ProfileFault> layout_of(const Profile& profile, unsigned payload_bytes,
                                       ProfileUse use = ProfileUse::link);

/// A 32-bit identity over every property that decides the bytes on the wire (not the name, not the payload length).
std::uint32_t identity_of(const Profile& profile);

}  // namespace proto
