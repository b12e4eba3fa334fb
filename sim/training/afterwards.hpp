#pragma once
// What a debrief explains once a drill is over: why each end stopped, and one telegram byte by byte.
#include <optional>
#include <string>
#include <vector>

#include "sim/capture/explain.hpp"
#include "sim/training/bench.hpp"

namespace sim {

/// What an end knew: what it made of the telegrams of one watchdog time, up to its first stop or, if it never stopped,
/// up to the last one recorded.
struct Reasoning {
    End end = End::controller;
    std::optional<Instant> stopped;
    Duration window{};  ///< its watchdog time
    unsigned fresh = 0, repeats = 0, rejected = 0, ignored = 0;
    std::optional<std::uint32_t> first_number, last_number;  ///< carried by what it did not reject in that time
    std::optional<Duration> last_good;  ///< so long before the end of that time; nothing: none on record
    std::optional<proto::Cause> cause;  ///< of the stop, or of the state it is in
    std::optional<proto::Measure> measure;
};
Reasoning reasoning_of(const Bench& bench, End end);

/// What an end took before, as far as it matters to what comes next.
struct TakenBefore {
    std::vector<std::uint8_t> bytes;
    proto::Verdict::Kind kind = proto::Verdict::Kind::fresh;
    std::optional<std::uint32_t> number;  ///< as carried
};
/// A telegram that an end has looked at.
struct TakenTelegram {
    End end = End::controller;              ///< where it arrived
    std::vector<std::uint8_t> bytes, sent;  ///< as it arrived, and as it set out; empty: not known
    proto::Verdict verdict;
    std::optional<std::uint32_t> number;  ///< as carried
};
/// What a receiver reads in it.
struct ExaminedFields {
    std::optional<std::uint32_t> accepted_before;  ///< the number that the end had accepted last
    std::vector<ExplainedField> fields;
    std::vector<std::string> sent;  ///< by field: its bytes when it set out, empty if not known or not in the bytes
};
/// `before`: in the order in which the end took them.
ExaminedFields examine(const Scenario& scenario, const std::vector<TakenBefore>& before, const TakenTelegram& telegram);

/// A telegram of the record, with what a receiver reads in it.
struct Examined {
    Seen telegram;
    std::optional<std::uint32_t> accepted_before;  ///< the number that the end had accepted last
    std::vector<ExplainedField> fields;
    std::vector<std::string> sent;  ///< by field: its bytes when it set out, empty if not known or not in the bytes
};
/// The first rejected telegram around the first stop or, failing that, of the latest. Nothing if there is none.
std::optional<Examined> first_rejected(const Bench& bench);

}  // namespace sim
