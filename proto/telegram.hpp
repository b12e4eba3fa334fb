#pragma once
// Encoding and decoding of process telegrams by a profile. Layout in FORMAT.md.
#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "proto/crc.hpp"
#include "proto/crc_difference.hpp"
#include "proto/link_settings.hpp"
#include "proto/profile.hpp"
#include "proto/verdict.hpp"

namespace proto {

/// Bits of the status byte. Bits 4..6 are always 0.
enum StatusBit : std::uint8_t {
    status_safe = 1U << 0,         ///< the sender is in the safe state: the payload holds substitute values
    status_request = 1U << 1,      ///< device: free of errors again, may be acknowledged
    status_acknowledge = 1U << 2,  ///< controller: acknowledged; device: acknowledgement taken
    status_restart = 1U << 3,      ///< device: only a new handshake helps
    status_from_device = 1U << 7,  ///< direction, if carried
};

/// What a process telegram says, apart from its payload.
struct Header {
    std::uint8_t status = 0;
    std::uint32_t number = 0;
    std::uint32_t feedback = 0;
    std::uint32_t stamp = 0;
    std::uint32_t echo = 0;
};

/// A field's place in one copy: bits counted from the first byte's highest bit.
struct FieldPlace {
    unsigned first_bit = 0;
    unsigned bits = 0;  ///< 0: the field is not in the bytes
};

struct FieldPlaces {
    FieldPlace status, source, destination, number, feedback, stamp, echo, payload, crc;
};

/// Places of all fields of a valid profile; requires layout_of() to succeed.
FieldPlaces places_of(const Profile& profile, unsigned payload_bytes);

/// One way of one link: encodes what its sender sends, decodes what its receiver expects.
class Codec {
  public:
    /// `sender` and the addresses fix what is implied. Requires a profile for which layout_of() succeeds.
    Codec(const Profile& profile, const CrcEngine* crc, End sender, std::uint32_t source, std::uint32_t destination,
          unsigned payload_bytes);

    /// For which length CrcEngine::know_differences() makes such telegrams quicker: 0 if for none. The header must lie
    /// in the first eight bytes, and the number in the bytes.
    static unsigned differing_bytes(const Profile& profile, unsigned payload_bytes);

    [[nodiscard]] const Layout& layout() const { return layout_; }
    /// Mask of the sequence number's width.
    [[nodiscard]] std::uint32_t number_mask() const { return number_mask_; }

    /// Writes layout().total_bytes bytes into `out`; those behind are room. `payload` has layout().payload_bytes.
    void encode(const Header& header, std::span<const std::uint8_t> payload,
                std::span<std::uint8_t, telegram_bytes_max> out) const;

    /// What an end keeps of the last telegram of a way, to renew or to compare only what changes. `word`, `value` and
    /// what follows the first eight of `bytes` always belong together; whether they were ever sent does not matter.
    struct alignas(64) Last {
        bool known = false;       ///< there is one, and the CRC has a difference for its length
        std::uint64_t word = 0;   ///< first eight bytes, the first highest
        std::uint64_t value = 0;  ///< the CRC as it is before R-08
        /// Of the sender: the last telegram, whole. Of the receiver: only what follows the first eight, to the CRC.
        std::array<std::uint8_t, telegram_bytes_max> bytes{};
    };
    /// Makes the telegram in last.bytes, out of the one that is there as far as it can; the same bytes as encode().
    /// `last` must be of this codec. Written out where it is called: include proto/telegram_body.hpp.
    void encode_next(const Header& header, std::span<const std::uint8_t> payload, Last& last) const;

    struct Decoded {
        Header header;
        MeasureSet failed;      ///< cross-check, integrity, authentication; what carries on is the caller's
        bool readable = false;  ///< long enough to read the header, also if failed
        const std::uint8_t* payload = nullptr;  ///< into the bytes given, if readable
    };
    /// Reads any bytes at all. `tries`: numbers allowed now, tried in this order if the number is implied.
    [[nodiscard]] Decoded decode(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries) const;
    /// The same without numbers to try, for a profile that carries its number.
    [[nodiscard]] Decoded decode(std::span<const std::uint8_t> bytes) const;
    /// The same, by comparing with the last telegram that was in order; `last` must be of this codec. Written out where
    /// it is called: include proto/telegram_body.hpp. `result` comes as Decoded{}: handed back as a value it would be
    /// copied in larger pieces than it was written in, and wait for memory.
    void decode_next(std::span<const std::uint8_t> bytes, Last& last, Decoded& result) const;

    /// The CRC register after everything that is implied but the number: equal for two links whose telegrams
    /// cannot be told apart by implied addresses.
    [[nodiscard]] std::uint64_t implied_register() const { return prefix_.bits; }
    /// The CRC value that `header` and `payload` should carry (for explaining a telegram).
    [[nodiscard]] std::uint64_t crc_of(std::span<const std::uint8_t> first_copy, std::uint32_t number) const;

  private:
    static constexpr std::uint8_t status_used = status_safe | status_request | status_acknowledge | status_restart;
    static constexpr unsigned status_shift = 56;                          ///< the status is the first word's first byte
    static constexpr unsigned header_words_max = 4;                       ///< 8 + 6 * 32 bits fit into 256
    using HeaderWords = std::array<std::uint64_t, header_words_max + 1>;  ///< first byte highest; the last stays 0

    /// A field's place in the header words: in the 128 bits that begin at `word`, `right` bits from their end.
    struct Slot {
        unsigned word = 0, right = 64, bits = 0;
        std::uint32_t mask = 0;
        void put(HeaderWords& words, std::uint32_t value) const;
        [[nodiscard]] std::uint32_t take(const HeaderWords& words) const;
        // in a header of one word, where `right` is 64 at least; without bits the mask is 0
        [[nodiscard]] std::uint64_t placed(std::uint32_t value) const {
            return std::uint64_t{value & mask} << (right - 64);
        }
        [[nodiscard]] std::uint32_t taken(std::uint64_t header_word) const {
            return static_cast<std::uint32_t>(header_word >> (right - 64)) & mask;
        }
    };

    // What nearly every telegram asks for lies together: with many links in turn each line of memory counts.
    alignas(64) Slot number_;
    CrcDifference::OfTwo counting_;
    std::uint64_t header_mask_ = 0;  ///< the header's part of the first word, if it is short
    /// Of the first word: all but those bits of the number that lie in two neighbouring bytes, from its lowest on, and
    /// what these change. Most telegrams differ from the one before in nothing else.
    std::uint64_t not_counting_mask_ = 0;
    /// The header lies in one word, as nearly every one does: read and written in a register.
    bool short_header_ = false;
    bool more_than_number_ = false;  ///< feedback or time stamps are carried
    bool zero_as_one_ = false, low_byte_first_ = false, four_high_first_ = false, two_copies_ = false,
         direction_carried_ = false;
    std::uint8_t direction_bit_ = 0;  ///< as carried in the status byte
    Layout layout_{};
    unsigned covered_bytes_ = 0;  ///< what the CRC is over, in one copy
    std::uint32_t number_mask_ = 0;
    std::uint64_t fixed_first_ = 0, fixed_mask_first_ = 0;  ///< the first words of fixed_ and fixed_mask_
    Slot feedback_, stamp_, echo_;

    const CrcEngine* crc_ = nullptr;             ///< nullptr: no CRC (single measure)
    const CrcDifference* difference_ = nullptr;  ///< nullptr: each telegram needs a whole CRC
    CrcEngine::Register prefix_{};               ///< after everything implied but the number
    Slot source_, destination_;
    /// What each header of this way and link has in common, and where it is: addresses, direction, unused bits.
    HeaderWords fixed_{}, fixed_mask_{};
    std::uint64_t unused_mask_first_ = 0;  ///< the status bits that must be 0, in the first word
    HeaderWords padding_mask_{};
    std::uint32_t own_source_ = 0, own_destination_ = 0;
    unsigned header_words_ = 1;
    unsigned implied_number_bytes_ = 0;

    /// The whole way; what is in order is remembered unless `last` is nullptr.
    [[nodiscard]] Decoded decoded(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries,
                                  Last* last) const;
    [[nodiscard]] std::uint64_t short_header(const Header& header) const;
    [[nodiscard]] Header read_short_header(std::uint64_t word) const;
    [[nodiscard]] HeaderWords long_header(const Header& header) const;
    [[nodiscard]] Header read_long_header(const HeaderWords& words) const;
    void write_copy(const std::uint64_t* header_words, std::span<const std::uint8_t> payload,
                    std::span<std::uint8_t, telegram_bytes_max> out) const;
    /// Puts header and payload into `out`, without the CRC.
    void write_data(const Header& header, std::span<const std::uint8_t> payload,
                    std::span<std::uint8_t, telegram_bytes_max> out) const;
    void encode_anew(Header header, std::span<const std::uint8_t> payload, Last& last) const;
    void remember(const std::uint8_t* copy, std::uint64_t value, Last& last) const;
    /// The second copy, out of the first.
    void invert_copy(std::uint8_t* copy) const;
    /// The CRC of the last telegram with its first word changed so. Where more changes than the number that counts,
    /// `last` is changed, too.
    [[nodiscard]] std::uint64_t renewed(Last& last, std::uint64_t changed) const;
    [[gnu::noinline]] std::uint64_t renewed_wholly(Last& last, std::uint64_t changed) const;
    [[nodiscard]] std::uint64_t as_sent(std::uint64_t value) const { return zero_as_one_ && value == 0 ? 1 : value; }
    /// The header words of a whole telegram.
    [[nodiscard]] HeaderWords words_of(std::span<const std::uint8_t> bytes) const;
    /// The first number under which the CRC is the one found, or nothing.
    [[nodiscard]] std::optional<std::uint32_t> fitting(const std::uint8_t* copy, std::span<const std::uint32_t> tries,
                                                       std::uint64_t found) const;
    /// Each measure that a telegram fails, with or without an intact CRC.
    [[nodiscard]] MeasureSet failures(std::span<const std::uint8_t> bytes, bool intact) const;
    /// A telegram of nothing but zeros, whatever its CRC says.
    [[nodiscard]] static bool all_zero(std::span<const std::uint8_t> bytes);
    [[nodiscard]] bool copies_agree(const std::uint8_t* copy) const;
    /// The CRC as it is before R-08.
    [[nodiscard]] std::uint64_t crc_over(const std::uint8_t* copy, std::uint32_t number) const;
    [[nodiscard]] CrcEngine::Register after_number(std::uint32_t number) const;
    // out of the way of the CRCs of 32 bits, high byte first, which are by far the most common
    [[gnu::noinline]] void store_other_crc(std::uint64_t value, std::uint8_t* at) const;
    [[nodiscard, gnu::noinline]] std::uint64_t load_other_crc(const std::uint8_t* at) const;
    void store_crc(std::uint64_t value, std::uint8_t* at) const;
    [[nodiscard]] std::uint64_t load_crc(const std::uint8_t* at) const;
};

}  // namespace proto
