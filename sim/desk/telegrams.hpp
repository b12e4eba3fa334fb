#pragma once
// Telegrams as a desk shows them: when each was made, when it is due and what became of it.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "proto/verdict.hpp"
#include "sim/channel/passage.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// What became of a telegram.
enum class DeskFate : std::uint8_t {
    on_the_way,
    waits,     ///< it arrived, and its end has not looked at it yet
    accepted,  ///< a new value, or a handshake that was understood
    repeated,  ///< in order, but nothing new
    ignored,   ///< the end is starting and waits for parameters
    rejected,
    lost,  ///< by a fault, by the channel itself, or at an end that has no power or no room
};

/// One telegram on its way, or a copy of one that a fault sent besides.
struct DeskTelegram {
    std::uint64_t id = 0;  ///< 1.., over all links
    std::size_t link = 0;
    Direction way = Direction::to_device;  ///< to whose end it goes: a fault may turn it round
    bool parameter = false;
    bool beside = false;                  ///< a fault sent it besides, or brought it from elsewhere
    std::optional<std::uint32_t> number;  ///< as carried; nothing: not in its bytes
    Instant made{};
    std::optional<Instant> due;  ///< nothing: it never arrives
    DeskFate fate = DeskFate::on_the_way;
    std::optional<Instant> fated;           ///< when that happened
    std::optional<proto::Measure> measure;  ///< that rejected it
    std::string reason;                     ///< in words, of what is rejected or lost
    std::vector<std::uint8_t> bytes;        ///< as they arrive
    std::vector<std::uint8_t> sent;         ///< as its sender made them; empty: not known
    Tag tag{};                              ///< the truth about it
};

/// A field of a telegram byte by byte.
struct DeskField {
    std::string name;
    std::string bytes;  ///< "02 02"; empty: not in the bytes
    std::string sent;   ///< the same when it set out; empty: not known
    std::string meaning;
    bool covered = false;         ///< by its check value
    std::string expected, found;  ///< where there is something to compare
};
struct DeskExplained {
    DeskTelegram telegram;
    std::vector<DeskField> fields;
    std::string words;  ///< what its end made of it, in one sentence
};

}  // namespace sim
