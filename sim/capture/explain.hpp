#pragma once
// A telegram byte by byte: which field, what it means, whether the CRC covers it, what was expected and what was found.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sim/capture/telegram_reader.hpp"

namespace sim {

struct ExplainedField {
    enum class Covered : std::uint8_t {
        no,
        yes,
        implied,  ///< not in the bytes, but fed to the CRC before them
        value,    ///< this is a check value itself
    };
    std::string name;
    std::optional<unsigned> first_bit;  ///< from the telegram's highest; nothing: not in the bytes
    unsigned bits = 0;
    std::string bytes;  ///< "02 02"; those that the field shares with others whole; empty if not in the bytes
    std::string meaning;
    Covered covered = Covered::no;
    std::string expected, found;  ///< where there is something to compare; both in the same form
    [[nodiscard]] bool differs() const { return expected != found; }
};

/// All fields of a telegram of any length, in the order of the CRC: what is implied first. `seen`: what the reader made
/// of it on the hop of `view`.
std::vector<ExplainedField> explain(const TelegramView& view, const TelegramSeen& seen,
                                    std::span<const std::uint8_t> bytes);

/// "D1 4C 50".
std::string in_hex(std::span<const std::uint8_t> bytes);

}  // namespace sim
