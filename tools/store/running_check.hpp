#pragma once
// A check over values in a row, for what is kept in files: CRC-64/XZ, which finds any single altered bit, any burst of
// up to 64 bits, and all else but one in 2^64. It finds accidents; who alters a file on purpose can make its check
// anew.
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "proto/crc.hpp"

namespace tools {

/// What files of linkdrill are checked by: CRC-64/XZ, made once.
const proto::CrcEngine& check_of_files();

class RunningCheck {
  public:
    RunningCheck();
    /// As 8 bytes, the lowest first.
    void add(std::uint64_t number);
    void add(std::int64_t number) { add(static_cast<std::uint64_t>(number)); }
    /// Its length as a number, then its bytes: where one text ends and the next begins counts.
    void add(std::string_view text);
    /// The bytes alone.
    void add(std::span<const std::uint8_t> bytes);
    /// Each as a number, 0 for nothing; then, for each 64 of them, a number with a bit for each that is there, that of
    /// the first the lowest.
    void add(std::span<const std::optional<std::int64_t>> columns);
    /// Of all so far; more may follow.
    [[nodiscard]] std::uint64_t value() const;

  private:
    proto::CrcEngine::Register so_far_;
};

}  // namespace tools
