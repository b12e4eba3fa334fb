#pragma once
// The hot half of Codec: what is done for each process telegram, written out where it is called. Only the endpoint and
// the units of drivers that move it need to know: everybody else calls encode() and decode().
#include <cstdint>
#include <cstring>
#include <span>

#include "proto/bytes.hpp"
#include "proto/crc_steps.hpp"
#include "proto/telegram.hpp"

namespace proto {

// The steps are marked always_inline: each is short, and a call with its saving of registers would take a third of its
// time.

// over everything in the copy, after everything implied.
[[gnu::always_inline]] inline std::uint64_t Codec::crc_over(const std::uint8_t* copy, std::uint32_t number) const {
    CrcEngine::Register state = __builtin_expect(implied_number_bytes_ != 0, 0) ? after_number(number) : prefix_;
    state = crc_->feed_in_place(state, std::span<const std::uint8_t>(copy, covered_bytes()));
    return crc_->finish(state);
}

[[gnu::always_inline]] inline void Codec::store_crc(std::uint64_t value, std::uint8_t* at) const {
    if (__builtin_expect(!four_high_first_, 0)) {
        store_other_crc(value, at);
        return;
    }
    const std::uint32_t swapped = __builtin_bswap32(static_cast<std::uint32_t>(value));
    std::memcpy(at, &swapped, 4);
}

[[gnu::always_inline]] inline std::uint64_t Codec::load_crc(const std::uint8_t* at) const {
    if (__builtin_expect(!four_high_first_, 0)) return load_other_crc(at);
    std::uint32_t swapped = 0;
    std::memcpy(&swapped, at, 4);
    return __builtin_bswap32(swapped);
}

[[gnu::always_inline]] inline std::uint64_t Codec::short_header(const Header& header) const {
    std::uint64_t word = fixed_[0] |
                         std::uint64_t{static_cast<std::uint8_t>(header.status & status_used)} << status_shift |
                         number_.placed(header.number);
    if (more_than_number_)
        word |= feedback_.placed(header.feedback) | stamp_.placed(header.stamp) | echo_.placed(header.echo);
    return word;
}

// The copy is written in whole words, each of which the CRC reads back as it was written: words made of several
// stores would keep the reader waiting until they have reached the cache.
[[gnu::always_inline]] inline void Codec::write_copy(const std::uint64_t* header_words,
                                                     std::span<const std::uint8_t> payload,
                                                     std::span<std::uint8_t, telegram_bytes_max> out) const {
    // copies of the members: for all that the compiler knows, a byte stored might be one of theirs
    const unsigned header_bytes = layout_.header_bytes;
    const unsigned payload_bytes = layout_.payload_bytes;
    const unsigned data_bytes = header_bytes + payload_bytes;
    std::uint8_t* const to = out.data();
    unsigned at = 0;
    for (; at + 8 <= header_bytes; at += 8) store_be64(to + at, header_words[at / 8]);
    const unsigned in_header = header_bytes - at;  // bytes of the word that header and payload share
    const std::uint8_t* from = payload.data();
    const std::uint8_t* const end = from + payload_bytes;
    if (data_bytes + 8 <= telegram_bytes_max && payload_bytes >= 8) {
        if (in_header != 0) {
            store_be64(to + at, header_words[at / 8] | load_be64(from) >> (8 * in_header));
            from += 8 - in_header;
            at += 8;
        }
        for (; end - from >= 8; from += 8, at += 8) store_be64(to + at, load_be64(from));
        const auto left = static_cast<unsigned>(end - from);
        if (left != 0) store_be64(to + at, load_be64(end - 8) << (8 * (8 - left)));
    } else {
        std::uint8_t shared[8];
        if (in_header != 0) store_be64(shared, header_words[at / 8]);
        std::memcpy(to + at, shared, in_header);
        std::memcpy(to + header_bytes, from, payload_bytes);
    }
}

[[gnu::always_inline]] inline void Codec::write_data(const Header& header, std::span<const std::uint8_t> payload,
                                                     std::span<std::uint8_t, telegram_bytes_max> out) const {
    if (__builtin_expect(short_header_, 1)) {
        const std::uint64_t word = short_header(header);
        write_copy(&word, payload, out);
    } else {
        const HeaderWords words = long_header(header);
        write_copy(words.data(), payload, out);
    }
}

[[gnu::always_inline]] inline std::uint64_t Codec::renewed(Last& last, std::uint64_t changed) const {
    if (__builtin_expect((changed & ~counting_mask_) != 0, 0)) return renewed_wholly(last, changed);
    return last.value ^ difference_->of_two(changed >> (8 * after_counting_), after_counting_);
}

[[gnu::always_inline]] inline void Codec::encode_next(const Header& header, std::span<const std::uint8_t> payload,
                                                      Last& last) const {
    std::uint8_t* const bytes = last.bytes.data();
    if (!last.known || !same_short(payload.data(), bytes + layout_.header_bytes, layout_.payload_bytes)) {
        encode_anew(header, payload, last);
        return;
    }
    const std::uint64_t changed = (short_header(header) ^ last.word) & header_mask_;
    const std::uint64_t word = last.word ^ changed;
    const std::uint64_t value = renewed(last, changed);
    store_be64(bytes, word);
    store_crc(as_sent(value), bytes + covered_bytes());
    if (__builtin_expect(two_copies_, 0)) invert_copy(bytes);
}

[[gnu::always_inline]] inline Header Codec::read_short_header(std::uint64_t word) const {
    Header header;
    header.status = static_cast<std::uint8_t>(word >> status_shift);
    header.number = number_.taken(word);
    if (more_than_number_) {
        header.feedback = feedback_.taken(word);
        header.stamp = stamp_.taken(word);
        header.echo = echo_.taken(word);
    }
    return header;
}

[[gnu::always_inline]] inline bool Codec::same_rest(const std::uint8_t* copy, const Last& last) const {
    if (!last.known) return false;
    return same_short(copy + 8, last.bytes.data() + 8, covered_bytes() - 8);
}

[[gnu::always_inline]] inline Codec::Decoded Codec::decoded(std::span<const std::uint8_t> bytes,
                                                            std::span<const std::uint32_t> tries, Last* last) const {
    Decoded result;
    if (__builtin_expect(bytes.size() != layout_.total_bytes, 0)) {
        result.failed.add(Measure::integrity);
        return result;
    }
    const std::uint8_t* const copy = bytes.data();
    result.readable = true;
    result.payload = copy + layout_.header_bytes;

    std::uint64_t first_word = 0;
    std::uint64_t differs = 0;  // from what each header of this way and link has in common
    if (__builtin_expect(short_header_, 1)) {
        first_word = load_be64(copy);
        result.header = read_short_header(first_word);
        differs = (first_word ^ fixed_[0]) & fixed_mask_[0];
    } else {
        const HeaderWords words = words_of(bytes);
        first_word = words[0];
        result.header = read_long_header(words);
        for (unsigned i = 0; i < header_words_; ++i) differs |= (words[i] ^ fixed_[i]) & fixed_mask_[i];
    }

    bool intact = true;
    if (crc_ != nullptr) {
        const std::uint64_t found = load_crc(result.payload + layout_.payload_bytes);
        if (__builtin_expect(implied_number_bytes_ != 0, 0)) {
            const auto number = fitting(copy, tries, found);
            intact = number.has_value();
            if (number) result.header.number = *number;
        } else if (last == nullptr) {
            intact = as_sent(crc_over(copy, 0)) == found;
        } else if (__builtin_expect(same_rest(copy, *last), 1)) {
            intact = as_sent(renewed(*last, first_word ^ last->word)) == found;
        } else {
            intact = fits_anew(copy, found, *last);
        }
    }
    // without a CRC there is no data integrity assurance at all, and a telegram of zeros may be a good one
    if (__builtin_expect(first_word == 0 && intact && crc_ != nullptr && all_zero(bytes), 0)) intact = false;
    const bool agree = !two_copies_ || copies_agree(copy);
    if (__builtin_expect(differs != 0 || !intact || !agree, 0)) {
        if (!agree) result.failed.add(Measure::cross_check);
        result.failed.add(explain(words_of(bytes), intact));
    }
    return result;
}

[[gnu::always_inline]] inline Codec::Decoded Codec::decode_next(std::span<const std::uint8_t> bytes, Last& last) const {
    return decoded(bytes, {}, &last);
}

}  // namespace proto
