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
    state =
        crc_->feed_in_place(state, std::span<const std::uint8_t>(copy, layout_.header_bytes + layout_.payload_bytes));
    const std::uint64_t value = crc_->finish(state);
    return zero_as_one_ && value == 0 ? 1 : value;
}

[[gnu::always_inline]] inline void Codec::store_crc(std::uint64_t value, std::uint8_t* at) const {
    if (layout_.crc_bytes == 4 && !low_byte_first_) {  // by far the most common
        const std::uint32_t swapped = __builtin_bswap32(static_cast<std::uint32_t>(value));
        std::memcpy(at, &swapped, 4);
        return;
    }
    // a reflected CRC goes out least significant byte first, so that bursts stay bursts
    if (low_byte_first_)
        store_le(at, value, layout_.crc_bytes);
    else
        store_be(at, value, layout_.crc_bytes);
}

[[gnu::always_inline]] inline std::uint64_t Codec::load_crc(const std::uint8_t* at) const {
    if (layout_.crc_bytes == 4 && !low_byte_first_) {
        std::uint32_t swapped = 0;
        std::memcpy(&swapped, at, 4);
        return __builtin_bswap32(swapped);
    }
    return low_byte_first_ ? load_le(at, layout_.crc_bytes) : load_be(at, layout_.crc_bytes);
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
                                                     std::span<std::uint8_t, telegram_bytes_max> out,
                                                     std::uint8_t* kept) const {
    // copies of the members: for all that the compiler knows, a byte stored might be one of theirs
    const unsigned header_bytes = layout_.header_bytes;
    const unsigned payload_bytes = layout_.payload_bytes;
    const unsigned data_bytes = header_bytes + payload_bytes;
    // where nothing is kept the same bytes are written twice in one place: no branch a word
    std::uint8_t* const first = out.data();
    std::uint8_t* const second = kept != nullptr ? kept : first;
    const auto store = [first, second](unsigned at, std::uint64_t word) {
        store_be64(first + at, word);
        store_be64(second + at, word);
    };
    unsigned at = 0;
    for (; at + 8 <= header_bytes; at += 8) store(at, header_words[at / 8]);
    const unsigned in_header = header_bytes - at;  // bytes of the word that header and payload share
    const std::uint8_t* from = payload.data();
    const std::uint8_t* const end = from + payload_bytes;
    if (data_bytes + 8 <= telegram_bytes_max && payload_bytes >= 8) {
        if (in_header != 0) {
            store(at, header_words[at / 8] | load_be64(from) >> (8 * in_header));
            from += 8 - in_header;
            at += 8;
        }
        for (; end - from >= 8; from += 8, at += 8) store(at, load_be64(from));
        const auto left = static_cast<unsigned>(end - from);
        if (left != 0) store(at, load_be64(end - 8) << (8 * (8 - left)));
    } else {
        std::uint8_t shared[8];
        if (in_header != 0) store_be64(shared, header_words[at / 8]);
        std::memcpy(first + at, shared, in_header);
        std::memcpy(first + header_bytes, from, payload_bytes);
        if (kept != nullptr) std::memcpy(kept, first, data_bytes);
    }
}

[[gnu::always_inline]] inline void Codec::encode_in_place(const Header& header, std::span<const std::uint8_t> payload,
                                                          std::span<std::uint8_t, telegram_bytes_max> out,
                                                          std::uint8_t* kept) const {
    if (__builtin_expect(short_header_, 1)) {
        const std::uint64_t word = short_header(header);
        write_copy(&word, payload, out, kept);
    } else {
        const HeaderWords words = long_header(header);
        write_copy(words.data(), payload, out, kept);
    }
    if (crc_ != nullptr) {
        const unsigned data_bytes = layout_.header_bytes + layout_.payload_bytes;
        const std::uint64_t value = crc_over(out.data(), header.number & number_mask_);
        store_crc(value, out.data() + data_bytes);
        if (kept != nullptr) store_crc(value, kept + data_bytes);
    }
    if (__builtin_expect(two_copies_, 0)) {
        for (unsigned i = 0; i < layout_.copy_bytes; ++i)
            out[layout_.copy_bytes + i] = static_cast<std::uint8_t>(~out[i]);
        if (kept != nullptr)
            std::memcpy(kept + layout_.copy_bytes, out.data() + layout_.copy_bytes, layout_.copy_bytes);
    }
}

[[gnu::always_inline]] inline void Codec::read_short_header(std::uint64_t word, Header& header) const {
    header.status = static_cast<std::uint8_t>(word >> status_shift);
    header.number = number_.taken(word);
    if (!more_than_number_) return;
    header.feedback = feedback_.taken(word);
    header.stamp = stamp_.taken(word);
    header.echo = echo_.taken(word);
}

[[gnu::always_inline]] inline Codec::Decoded Codec::decode_in_place(std::span<const std::uint8_t> bytes,
                                                                    std::span<const std::uint32_t> tries) const {
    Decoded result;
    if (__builtin_expect(bytes.size() != layout_.total_bytes, 0)) {
        result.failed.add(Measure::integrity);
        return result;
    }
    const std::uint8_t* const copy = bytes.data();
    result.readable = true;
    result.payload = copy + layout_.header_bytes;

    Header& header = result.header;
    std::uint64_t first_word = 0;
    std::uint64_t differs = 0;  // from what each header of this way and link has in common
    if (__builtin_expect(short_header_, 1)) {
        first_word = load_be64(copy);
        read_short_header(first_word, header);
        differs = (first_word ^ fixed_[0]) & fixed_mask_[0];
    } else {
        const HeaderWords words = words_of(bytes);
        first_word = words[0];
        read_long_header(words, header);
        for (unsigned i = 0; i < header_words_; ++i) differs |= (words[i] ^ fixed_[i]) & fixed_mask_[i];
    }

    bool intact = true;
    if (crc_ != nullptr) {
        const std::uint64_t found = load_crc(result.payload + layout_.payload_bytes);
        intact = __builtin_expect(implied_number_bytes_ != 0, 0) ? fits_a_try(copy, tries, found, header.number)
                                                                 : crc_over(copy, header.number) == found;
    }
    // without a CRC there is no data integrity assurance at all, and a telegram of zeros may be a good one
    if (__builtin_expect(first_word == 0 && intact && crc_ != nullptr && all_zero(bytes), 0)) intact = false;
    const bool agree = !two_copies_ || copies_agree(copy);
    if (__builtin_expect(differs != 0 || !intact || !agree, 0)) {
        if (!agree) result.failed.add(Measure::cross_check);
        explain(words_of(bytes), result, intact);
    }
    return result;
}

}  // namespace proto
