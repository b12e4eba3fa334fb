#pragma once
// A CRC is affine: the values of two messages of equal length differ by the xor of what each changed byte changes by
// itself, whatever the rest of the messages is. A telegram that differs from the one before only in its first eight
// bytes, as nearly every one does, needs no CRC over all of it. True for every message, also for a wrong one.
#include <cstdint>
#include <memory>

#include "proto/crc.hpp"

namespace proto {

class CrcDifference {
  public:
    /// The bytes at the begin of a message that may change.
    static constexpr unsigned bytes = 8;

    /// For messages of `message_bytes` bytes, 8..telegram_bytes_max. Allocates 8 kB up to width 32, else 16 kB.
    CrcDifference(const CrcEngine& crc, unsigned message_bytes);

    [[nodiscard]] unsigned message_bytes() const { return message_bytes_; }
    /// The change (xor) of CrcEngine::finish() where the first eight bytes, the first highest, change by `changed`.
    [[nodiscard]] std::uint64_t of(std::uint64_t changed) const {
        return narrow_ != nullptr ? of_all(*narrow_, changed) : of_all(*wide_, changed);
    }
    /// The same where at most two neighbouring bytes change: they are in `changed`, with `following` (0..6) of the
    /// eight behind them.
    [[nodiscard]] std::uint64_t of_two(std::uint64_t changed, unsigned following) const {
        return __builtin_expect(narrow_ != nullptr, 1) ? of_two(*narrow_, changed, following)
                                                       : of_two(*wide_, changed, following);
    }

  private:
    /// [k][b]: what byte b changes, k bytes before the last of the eight. Bare arrays, indexed with bytes only.
    template <class Word>
    struct alignas(64) Tables {
        Word byte[bytes][256];
    };
    template <class Word>
    static std::unique_ptr<const Tables<Word>> filled(const CrcEngine& crc, unsigned message_bytes);
    template <class Word>
    static std::uint64_t of_all(const Tables<Word>& tables, std::uint64_t changed) {
        Word sum = 0;
        for (unsigned k = 0; k < bytes; ++k) sum ^= tables.byte[k][changed >> (8 * k) & 0xFF];
        return sum;
    }
    template <class Word>
    static std::uint64_t of_two(const Tables<Word>& tables, std::uint64_t changed, unsigned following) {
        return tables.byte[following][changed & 0xFF] ^ tables.byte[following + 1][changed >> 8 & 0xFF];
    }

    unsigned message_bytes_;
    std::unique_ptr<const Tables<std::uint32_t>> narrow_;  ///< up to width 32, else wide_: one of them is there
    std::unique_ptr<const Tables<std::uint64_t>> wide_;
};

}  // namespace proto
