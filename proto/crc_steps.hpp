#pragma once
// How a CRC register moves over bytes: slice-by-8 for registers of 32 and of 64 bits, bits entering from either end.
// Only crc.cpp and telegram_body.hpp need to know: everybody else uses CrcEngine.
#include <bit>
#include <cstdint>
#include <cstring>
#include <type_traits>
#include <utility>

#include "proto/crc.hpp"

namespace proto::crc_steps {

enum class BitOrder : std::uint8_t { high_first, low_first };

constexpr unsigned slices = 8;

/// slice[k][b]: what byte b leaves in an empty register once k zero bytes have followed it.
/// Bare arrays: feed() indexes them with bytes only, so a bounds check could never fail and would sit in the hot loop.
template <class Word>
struct alignas(64) SliceTables {
    Word slice[slices][256];
};

template <class Word>
constexpr Word in_message_order(Word value, BitOrder order) {
    if ((order == BitOrder::high_first) == (std::endian::native == std::endian::big)) return value;
    if constexpr (sizeof(Word) == 8) {
        return __builtin_bswap64(value);
    } else {
        return __builtin_bswap32(value);
    }
}

/// One way to run the register: its word and the order in which bits enter it. In either order "byte k" of a word
/// is the k-th that came from the message, so the steps below read the same for both.
template <class Word, BitOrder order>
struct Steps {
    using Entry = Word;
    static_assert(std::is_same_v<Word, std::uint32_t> || std::is_same_v<Word, std::uint64_t>);
    static constexpr unsigned word_bits = 8 * sizeof(Word);

    /// The next sizeof(Loaded) bytes of the message.
    template <class Loaded>
    static Loaded load(const std::uint8_t* from) {
        Loaded value = 0;
        std::memcpy(&value, from, sizeof value);
        return in_message_order(value, order);
    }

    template <unsigned k, class Loaded>
    static std::size_t byte(Loaded value) {
        constexpr unsigned shift =
            order == BitOrder::high_first ? 8 * (static_cast<unsigned>(sizeof(Loaded)) - 1 - k) : 8 * k;
        return static_cast<std::size_t>((value >> shift) & 0xFF);
    }

    /// The look-ups for all the bytes of `value`, `following` bytes before the end of the step; written out at compile
    /// time, since -O2 keeps the loop.
    template <unsigned following, class Loaded, unsigned... k>
    static Word look_up(const SliceTables<Word>& tables, Loaded value,
                        std::integer_sequence<unsigned, k...> /*bytes*/) {
        return (tables.slice[following + sizeof...(k) - 1 - k][byte<k>(value)] ^ ...);
    }

    static Word step8(const SliceTables<Word>& tables, Word so_far, const std::uint8_t* from) {
        if constexpr (word_bits == 32) {
            // In halves: the second does not wait for the register.
            constexpr auto four = std::make_integer_sequence<unsigned, 4>{};
            return look_up<0>(tables, load<std::uint32_t>(from + 4), four) ^
                   look_up<4>(tables, load<std::uint32_t>(from) ^ so_far, four);
        } else {
            return look_up<0>(tables, load<std::uint64_t>(from) ^ so_far, std::make_integer_sequence<unsigned, 8>{});
        }
    }

    static Word step4(const SliceTables<Word>& tables, Word so_far, const std::uint8_t* from) {
        std::uint32_t leading = 0;
        Word rest = 0;  // what a register wider than four bytes keeps of itself
        if constexpr (word_bits == 32) {
            leading = so_far;
        } else if constexpr (order == BitOrder::high_first) {
            leading = static_cast<std::uint32_t>(so_far >> 32);
            rest = so_far << 32;
        } else {
            leading = static_cast<std::uint32_t>(so_far);
            rest = so_far >> 32;
        }
        const std::uint32_t value = load<std::uint32_t>(from) ^ leading;
        return rest ^ look_up<0>(tables, value, std::make_integer_sequence<unsigned, 4>{});
    }

    static Word step1(const SliceTables<Word>& tables, Word so_far, std::uint8_t next) {
        const Word rest = order == BitOrder::high_first ? so_far << 8 : so_far >> 8;
        return rest ^ tables.slice[0][byte<0>(so_far) ^ next];
    }

    /// Bounded by the number of bytes.
    static Word feed(const SliceTables<Word>& tables, Word so_far, const std::uint8_t* from, std::size_t count) {
        for (; count >= 8; from += 8, count -= 8) so_far = step8(tables, so_far, from);
        if (count >= 4) {
            so_far = step4(tables, so_far, from);
            from += 4;
            count -= 4;
        }
        for (; count > 0; ++from, --count) so_far = step1(tables, so_far, *from);
        return so_far;
    }

    /// `polynomial` as it lies in the word: aligned like the register, bits in the same order.
    static void fill(SliceTables<Word>& tables, Word polynomial) {
        constexpr Word outermost = order == BitOrder::high_first ? Word{1} << (word_bits - 1) : Word{1};
        for (unsigned value = 0; value < 256; ++value) {
            Word bits = order == BitOrder::high_first ? static_cast<Word>(Word{value} << (word_bits - 8)) : Word{value};
            for (unsigned bit = 0; bit < 8; ++bit) {
                const bool leaves = (bits & outermost) != 0;
                bits = order == BitOrder::high_first ? bits << 1 : bits >> 1;
                if (leaves) bits ^= polynomial;
            }
            tables.slice[0][value] = bits;
        }
        for (unsigned k = 1; k < slices; ++k) {
            for (unsigned value = 0; value < 256; ++value)
                tables.slice[k][value] = step1(tables, tables.slice[k - 1][value], 0);
        }
    }
};

using NarrowHighFirst = Steps<std::uint32_t, BitOrder::high_first>;
using NarrowLowFirst = Steps<std::uint32_t, BitOrder::low_first>;
using WideHighFirst = Steps<std::uint64_t, BitOrder::high_first>;
using WideLowFirst = Steps<std::uint64_t, BitOrder::low_first>;

}  // namespace proto::crc_steps

namespace proto {

inline CrcEngine::Register CrcEngine::feed_in_place(Register so_far, std::span<const std::uint8_t> bytes) const {
    if (__builtin_expect(kind_ != Kind::narrow_high_first, 0)) return feed(so_far, bytes);
    const auto& tables = *static_cast<const crc_steps::SliceTables<std::uint32_t>*>(tables_.get());
    return {
        crc_steps::NarrowHighFirst::feed(tables, static_cast<std::uint32_t>(so_far.bits), bytes.data(), bytes.size())};
}

}  // namespace proto
