#pragma once
// Cyclic redundancy checks of any width from 8 to 64 bits, by the parameters that the public catalogue of
// parametrised CRC algorithms uses: width, polynomial, initial value, reflection in and out, final xor.
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>

#include "proto/result.hpp"

namespace proto {

/// Parameters of a CRC. `polynomial` in normal notation without its leading term; all values fit the width.
struct CrcSpec {
    unsigned width = 32;  ///< bits, 8..64
    std::uint64_t polynomial = 0;
    std::uint64_t initial = 0;
    bool reflect_in = false;
    bool reflect_out = false;
    std::uint64_t final_xor = 0;
    friend bool operator==(const CrcSpec&, const CrcSpec&) = default;
};

/// Why a CrcSpec is none.
enum class CrcSpecError : std::uint8_t {
    width_out_of_range,      ///< not 8..64
    polynomial_too_wide,     ///< does not fit the width
    polynomial_without_one,  ///< constant term 0: some single bits would go unseen
    initial_too_wide,
    final_xor_too_wide,
};

/// The lowest `count` bits of `value` (1..64) in opposite order; the bits above come out as 0.
[[nodiscard]] std::uint64_t reversed_bits(std::uint64_t value, unsigned count);

class CrcDifference;

class CrcEngine {
  public:
    /// A running check; opaque, only ever handed back to the engine that made it.
    struct Register {
        std::uint64_t bits;
    };

    /// Builds the tables (the only allocation: 8 kB up to width 32, else 16 kB). Of several errors the first in the
    /// order of CrcSpecError is named.
    static Result<CrcEngine, CrcSpecError> make(const CrcSpec& spec);

    [[nodiscard]] const CrcSpec& spec() const { return spec_; }
    /// Number of bytes that a value takes in a telegram: width rounded up to whole bytes.
    [[nodiscard]] unsigned value_bytes() const { return (spec_.width + 7) / 8; }

    [[nodiscard]] Register start() const { return start_; }
    /// A message may be fed in pieces split anywhere. Time grows with the number of bytes; `bytes` is not kept.
    [[nodiscard]] Register feed(Register so_far, std::span<const std::uint8_t> bytes) const;
    /// The same, written out where it is called, for telegrams: include proto/crc_steps.hpp. The kind that nearly every
    /// link uses is tried first.
    [[nodiscard]] Register feed_in_place(Register so_far, std::span<const std::uint8_t> bytes) const;
    /// The value, 0..2^width - 1; `done` may still be fed on afterwards.
    [[nodiscard]] std::uint64_t finish(Register done) const;
    [[nodiscard]] std::uint64_t over(std::span<const std::uint8_t> bytes) const { return finish(feed(start(), bytes)); }

    /// Builds what difference() gives for messages of either length, unless this engine has it; of other lengths it
    /// forgets it. The only allocation besides make(); copies share it. Lengths as CrcDifference takes them, else none.
    void know_differences(std::array<unsigned, 2> message_bytes);
    /// Of the engine or a copy of it, which must outlive its use; nullptr for a length that know_differences() was not
    /// told.
    [[nodiscard]] const CrcDifference* difference(unsigned message_bytes) const;

    /// Only copied, never moved from: an engine that was handed on still works. Defined in crc.cpp, so that the shared
    /// tables are counted only by code built without run-time type information, like the code that made them; the
    /// undefined-behaviour sanitizer takes a mixture for a fault.
    CrcEngine(const CrcEngine&);
    CrcEngine& operator=(const CrcEngine&);
    ~CrcEngine();

  private:
    /// How the register lies in its word, so that feed() chooses its loop once a call.
    enum class Kind : std::uint8_t {
        narrow_high_first,  ///< 32-bit word, most significant bit first, aligned to the top
        narrow_low_first,   ///< 32-bit word, least significant bit first, aligned to the bottom
        wide_high_first,    ///< 64-bit word
        wide_low_first,
    };

    CrcEngine();
    CrcSpec spec_{};
    Register start_{};
    Kind kind_ = Kind::narrow_high_first;
    unsigned unused_low_bits_ = 0;  ///< of the register's word, 0..56; 0 where it is aligned to the bottom
    /// Slice-by-8 tables, of 32-bit entries up to width 32, else of 64-bit ones, as kind_ says; never empty.
    /// Shared: copies of an engine use the same cache lines.
    std::shared_ptr<const void> tables_;
    std::array<std::shared_ptr<const CrcDifference>, 2> differences_;
};

inline std::uint64_t CrcEngine::finish(Register done) const {
    const std::uint64_t value = done.bits >> unused_low_bits_;
    const bool turn_round = spec_.reflect_in != spec_.reflect_out;
    return (turn_round ? reversed_bits(value, spec_.width) : value) ^ spec_.final_xor;
}

}  // namespace proto
