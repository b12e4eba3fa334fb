#pragma once
// The parameter telegram: fixed layout and a CRC-32 of its own, independent of the profile, so that a differing
// profile or address can still be named. Layout in FORMAT.md.
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "proto/link_settings.hpp"

namespace proto {

inline constexpr unsigned parameter_telegram_bytes = 80;
inline constexpr unsigned parameter_head_bytes = 32;  ///< of them, before the parameters

/// Which setting differs; also the refusal code on the wire (fixed numbers).
enum class Refusal : std::uint8_t {
    none = 0,
    profile = 1,
    controller_address = 2,
    device_address = 3,
    exchange = 4,
    payload_to_device = 5,
    payload_to_controller = 6,
    bits_to_device = 7,
    bits_to_controller = 8,
    byte_order = 9,
    cycle = 10,
    watchdog_controller = 11,
    watchdog_device = 12,
    missing_allowed = 13,
    claimed_level = 14,
};
inline constexpr unsigned refusal_count = 15;
/// "watchdog of the device" and the like, for messages.
std::string_view name_of(Refusal refusal);

struct ParameterTelegram {
    enum class Step : std::uint8_t {
        offer = 1,    ///< controller: my settings, my handshake number
        answer = 2,   ///< device: yours fed back, mine, and a refusal or none
        confirm = 3,  ///< controller: yours fed back
        ready = 4,    ///< device: go
    };
    Step step = Step::offer;
    Refusal refusal = Refusal::none;
    std::uint64_t controller_number = 0;  ///< the handshake number that the controller drew
    std::uint64_t device_number = 0;      ///< the one that the device drew
    std::uint32_t start_number = 0;       ///< first sequence number of the sender
    std::uint32_t stamp = 0;              ///< the sender's clock in the profile's unit, if it has time stamps
    LinkParameters parameters;            ///< the sender's own
};

/// The CRC-32 of parameter telegrams, signatures and identities: polynomial 0xF4ACFB13, initial value and final xor
/// all ones, not reflected. Independent of every profile.
std::uint32_t parameter_crc(std::span<const std::uint8_t> bytes);

/// parameter_crc() over the parameters: the value to be found at both ends.
std::uint32_t signature_of(const LinkParameters& parameters);

/// Parameters as a telegram carries them, with their signature. An end's never change: it makes this once.
class ParameterBlock {
  public:
    explicit ParameterBlock(const LinkParameters& parameters);
    [[nodiscard]] const LinkParameters& parameters() const { return parameters_; }
    [[nodiscard]] std::span<const std::uint8_t, 44> bytes() const { return bytes_; }
    /// parameter_crc() over `head` and the bytes() behind it, for the time of the head: the same bytes move the check
    /// on in the same way each time.
    [[nodiscard]] std::uint32_t crc_behind(std::span<const std::uint8_t, parameter_head_bytes> head) const;

  private:
    LinkParameters parameters_;
    std::array<std::uint8_t, 44> bytes_{};
    std::uint32_t own_part_ = 0;  ///< what the bytes alone leave in an empty register of the CRC
};

void encode(const ParameterTelegram& telegram, std::span<std::uint8_t, parameter_telegram_bytes> out);
/// The same for a sender that has its block; what `telegram` holds as parameters is not looked at.
void encode(const ParameterTelegram& telegram, const ParameterBlock& own,
            std::span<std::uint8_t, parameter_telegram_bytes> out);

/// Nothing if the bytes are no intact parameter telegram (length, mark, CRC, signature, ranges).
std::optional<ParameterTelegram> decode_parameters(std::span<const std::uint8_t> bytes);
/// The same, and quicker for a telegram with the parameters that are expected.
std::optional<ParameterTelegram> decode_parameters(std::span<const std::uint8_t> bytes, const ParameterBlock& expected);

/// The first setting in which `theirs` differs from `ours`, or none. Ours with one address for both ends differ from
/// any, then by the device's.
Refusal first_difference(const LinkParameters& ours, const LinkParameters& theirs);

}  // namespace proto
