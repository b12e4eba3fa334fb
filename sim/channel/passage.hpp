#pragma once
// What travels through the channel: bytes, the truth about them, and where they are going.
#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>

#include "proto/contract.hpp"
#include "proto/endpoint.hpp"
#include "proto/time.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

using proto::Instant;

/// Links that a channel carries: number 0 is the one under rehearsal, number 1 its neighbour.
inline constexpr unsigned link_count = 2;
/// In a tag, a telegram that came from the n-th link of the same cell, through that one's channel, has this more.
inline constexpr std::uint8_t other_links_from = 2;
/// Links times directions.
inline constexpr unsigned lane_count = 2 * link_count;
constexpr std::size_t lane_of(std::uint8_t link, Direction direction) {
    return std::size_t{link} * 2 + static_cast<std::size_t>(direction);
}

/// The truth about bytes on the way; travels as a proto::Token through the endpoint's queue. All of it lies in one
/// 64-bit word, so that it is copied with one load and one store.
struct Tag {
    static constexpr std::uint64_t instance_max = (std::uint64_t{1} << 40) - 1;
    static constexpr std::uint32_t injection_max = (1U << 12) - 1;

    std::uint64_t instance : 40 = 0;                 ///< which production of its link and direction (observer's count)
    std::uint32_t injection : 12 = 0;                ///< 1 + index of the fault that touched it, 0 none
    std::uint8_t link : 4 = 0;                       ///< of origin
    Direction direction : 1 = Direction::to_device;  ///< of origin
    bool altered : 1 = false;                        ///< bytes differ from what was produced
    bool forged : 1 = false;                         ///< never produced by a safety layer
    bool parameter : 1 = false;                      ///< a parameter telegram
    bool stray : 1 = false;                          ///< from an earlier start of the link

    /// A genuine telegram's tag, put together in a register: field by field it would wait for memory.
    static Tag genuine(std::uint64_t instance, std::uint8_t link, Direction direction, bool parameter) {
        return std::bit_cast<Tag>((instance & instance_max) | std::uint64_t{link} << 52 |
                                  static_cast<std::uint64_t>(direction) << 56 | std::uint64_t{parameter} << 59);
    }
    /// Of that link and direction, a process telegram, and exactly as its sender made it (a fault may have moved it).
    /// One comparison of everything but instance and injection.
    [[nodiscard]] bool as_produced(std::uint8_t of_link, Direction way) const {
        return std::bit_cast<std::uint64_t>(*this) >> 52 ==
               std::bit_cast<std::uint64_t>(genuine(0, of_link, way, false)) >> 52;
    }
    // Read from the word: where it has just been put together, these are then known when it is compiled.
    [[nodiscard]] std::uint8_t of_link() const {
        return static_cast<std::uint8_t>(std::bit_cast<std::uint64_t>(*this) >> 52 & 0xF);
    }
    [[nodiscard]] Direction way() const {
        return static_cast<Direction>(std::bit_cast<std::uint64_t>(*this) >> 56 & 1);
    }
    [[nodiscard]] bool is_parameter() const { return (std::bit_cast<std::uint64_t>(*this) >> 59 & 1) != 0; }
    [[nodiscard]] proto::Token token() const { return {std::bit_cast<std::uint64_t>(*this)}; }
    static Tag from(proto::Token token) { return std::bit_cast<Tag>(token.value); }

  private:
    [[maybe_unused]] std::uint8_t unused_ : 3 = 0;
};
static_assert(sizeof(Tag) == 8);

/// Bytes in the channel.
struct Telegram {  // NOLINT(cppcoreguidelines-pro-type-member-init): see `bytes`
    std::uint16_t size = 0;
    /// Left uninitialised: `size` says what counts. Aligned, since they are copied in words.
    alignas(8) std::array<std::uint8_t, proto::telegram_bytes_max> bytes;
    [[nodiscard]] std::span<const std::uint8_t> view() const { return {bytes.data(), size}; }
    [[nodiscard]] std::span<std::uint8_t> view() { return {bytes.data(), size}; }
    /// Copies only the bytes that count; at most telegram_bytes_max.
    void assign(std::span<const std::uint8_t> from) {
        proto::require(from.size() <= bytes.size(), "a telegram has at most 300 bytes");
        std::copy(from.begin(), from.end(), bytes.begin());
        size = static_cast<std::uint16_t>(from.size());
    }
};

/// A telegram that was offered before.
struct Past {
    Telegram telegram;
    Tag tag;
    Instant sent{};  ///< of a history: when these bytes were offered last
};
inline Past past_of(const Telegram& telegram, const Tag& tag) {
    Past past;
    past.telegram.assign(telegram.view());
    past.tag = tag;
    return past;
}
/// How earlier telegrams are counted: each, or repeats of the same bytes as one.
enum class Counting : std::uint8_t { every, distinct };

/// One telegram's way through the channel.
struct Passage {
    Tag tag;
    std::uint8_t to_link = 0;  ///< where it is delivered: link and end
    End to_end = End::device;
    std::uint64_t ordinal = 0;  ///< process telegrams offered before it on its link and direction; for a
                                ///< parameter telegram: the count so far
    Instant sent{};
    Instant due{};           ///< before order is kept, as long as stages see it
    proto::Duration held{};  ///< added to `due` after order was kept: later telegrams may overtake
};

/// What the channel did with a telegram besides carrying it.
enum class Fate : std::uint8_t {
    touched,      ///< by the fault that its tag names; it travels on
    dropped,      ///< by that fault
    lost,         ///< by the channel itself
    bent,         ///< by the channel's own bit errors; it travels on
    crowded_out,  ///< more telegrams were on the way than the channel holds
};

}  // namespace sim
