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
    /// The same where nothing changes but two neighbouring bytes: two tables are enough.
    class OfTwo {
      public:
        [[nodiscard]] std::uint64_t of(std::uint64_t changed) const {
            const std::uint64_t both = changed >> shift_;
            if (__builtin_expect(narrow_ == nullptr, 0)) return wide_[both & 0xFF] ^ wide_[256 + (both >> 8 & 0xFF)];
            return narrow_[both & 0xFF] ^ narrow_[256 + (both >> 8 & 0xFF)];
        }

      private:
        friend CrcDifference;
        const std::uint32_t* narrow_ = nullptr;  ///< two tables, one behind the other
        const std::uint64_t* wide_ = nullptr;    ///< likewise; where both are nullptr, of() must not be called
        unsigned shift_ = 0;
    };
    /// For the two that `following` (0..6) of the eight bytes follow; lasts as long as this.
    [[nodiscard]] OfTwo of_two(unsigned following) const;

  private:
    /// [256 * k + b]: what byte b changes, k bytes before the last of the eight. Bare, since indexed with bytes only.
    template <class Word>
    struct alignas(64) Tables {
        Word entry[std::size_t{256} * bytes];
    };
    template <class Word>
    static std::unique_ptr<const Tables<Word>> filled(const CrcEngine& crc, unsigned message_bytes);
    template <class Word>
    static std::uint64_t of_all(const Tables<Word>& tables, std::uint64_t changed) {
        Word sum = 0;
        for (unsigned k = 0; k < bytes; ++k) sum ^= tables.entry[std::size_t{256} * k + (changed >> (8 * k) & 0xFF)];
        return sum;
    }

    unsigned message_bytes_;
    std::unique_ptr<const Tables<std::uint32_t>> narrow_;  ///< up to width 32, else wide_: one of them is there
    std::unique_ptr<const Tables<std::uint64_t>> wide_;
};

}  // namespace proto
