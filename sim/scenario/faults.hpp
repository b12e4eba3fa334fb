#pragma once
// What is to go wrong: which telegrams or which end a fault touches, when, and what is expected of the link then.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

/// What must be so for a fault to touch a telegram, all of it at once, and the event that ends it for good. A fault of
/// an end knows `machine` alone: it waits with its begin until the machine moves.
struct FaultCondition {
    enum class Motion : std::uint8_t { moving, still };
    enum class Event : std::uint8_t {
        safe_state,     ///< either end goes to the safe state
        acknowledged,   ///< somebody's acknowledgement counted
        machine_still,  ///< a motion comes to its end
    };
    /// From one place of the machine's travel to another, both included; micrometres.
    struct Span {
        std::int64_t from_um = 0, to_um = 0;
    };
    std::optional<proto::State> state = {};  ///< of the end `state_of`
    End state_of = End::controller;
    std::optional<Motion> machine = {};
    std::optional<Span> position = {};
    std::optional<Event> until = {};  ///< counted from the first telegram on its way since the fault's begin

    /// The fault may let go and take hold again.
    [[nodiscard]] bool comes_and_goes() const { return state || machine || position; }
    [[nodiscard]] bool any() const { return comes_and_goes() || until; }
};

/// Which telegrams a fault touches: the way(s), when it begins, how many or how long.
struct Fault {
    ErrorKind error = ErrorKind::corruption;  ///< as reported
    FaultWay way = FaultWay::random_bits;
    bool to_device = true;       ///< touches telegrams on the way out
    bool to_controller = false;  ///< touches telegrams on the way back
    // begin: exactly one
    std::optional<Duration> at;                ///< run time
    std::optional<std::uint64_t> on_telegram;  ///< the n-th process telegram (1..) on its way since the start
    // extent: with neither, one telegram, or every one until the event that ends it
    std::optional<std::uint64_t> times;  ///< so many telegrams in a row
    std::optional<Duration> lasting;     ///< every telegram of that time
    std::uint64_t every = 1;             ///< only each so-manyth telegram within the extent
    // what
    std::vector<unsigned> bits;
    unsigned count = 1;
    unsigned length = 0;
    double rate = 0.0;
    TelegramField field = TelegramField::whole;
    unsigned back = 1;
    Duration hold{};
    Duration extra{};
    bool keep_order = true;          ///< delay: later telegrams do not overtake
    std::optional<End> at_end = {};  ///< of a fault of an end; without `lasting` it stays
    std::int64_t drift_ppm = 0;      ///< clock-drift: above 0 the clock is fast
    FaultCondition when = {};
    /// The link of the same cell that stands where else the neighbour does; empty: the neighbour itself.
    std::string other_link = {};
    /// It strikes that link, and this is what it does here besides.
    bool of_other_link = false;
    // expected
    std::optional<std::string> expect_outcome;    ///< "safe-state", "tolerated", "no-effect", "dangerous"
    std::vector<std::string> expect_detected_by;  ///< any of these measures; "none" for null
    std::optional<std::string> expect_end;        ///< "controller" or "device"
    Place where;
    bool by_hand = false;  ///< nobody wrote it down: somebody did it while the link ran live
};

}  // namespace sim
