#pragma once
// A rehearsal as written down by a person: two ends as typed, the channel between them, the plant around them,
// what is to go wrong and what is expected. Each part lives in a struct of its own; this file only gathers them.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "proto/link_settings.hpp"
#include "proto/verdict.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {

using proto::Duration;
using proto::End;

/// The way of a telegram.
enum class Direction : std::uint8_t { to_device, to_controller };
constexpr End receiver(Direction d) { return d == Direction::to_device ? End::device : End::controller; }
constexpr End sender(Direction d) { return d == Direction::to_device ? End::controller : End::device; }

/// Where in its file a thing was written, for messages: line 1.. and dotted key.
struct Place {
    int line = 0;
    std::string key;
};

/// One bit of a payload: byte 0.., bit 0 (lowest) .. 7.
struct BitPlace {
    unsigned byte = 0;
    unsigned bit = 0;
    friend bool operator==(const BitPlace&, const BitPlace&) = default;
};

/// A signal on a bit, as typed at one end.
struct TypedBit {
    std::string signal;
    BitPlace place;
    Place where;
};

/// Everything typed at one end.
struct TypedEnd {
    std::string name;            ///< by its place in the plant: "press controller", "press I/O"
    std::string profile_file;    ///< as typed
    proto::LinkSettings link;    ///< bits_sent / bits_received follow from the bit map below
    std::vector<TypedBit> bits;  ///< bit map, both directions; the direction comes from the signal
};

/// What protects people or stops the machine by hand: curtain, scanner, interlocked door, rope pull, emergency stop.
struct Safeguard {
    std::string name;
    End at = End::controller;  ///< the end that reads it
    Duration delay{};          ///< from the demand to its contact (sensor response time)
    Duration minimum_hold{};   ///< a demand is held at least so long; 0: as long as least_hold() says
    Place where;
    unsigned channels = 1;   ///< 1 or 2 contacts; any of them takes the signal away
    Duration discrepancy{};  ///< two channels: for how long they may differ before the safeguard is latched in a fault
    bool latched = false;    ///< stays off after a demand until somebody resets it (emergency stop, rope pull)
};

/// A safe bit: 1 only while every source is 1 (no demand). Substitute value 0.
struct Signal {
    std::string name;
    Direction direction = Direction::to_device;
    /// Names of safeguards at the sending end and of signals that this end receives.
    std::vector<std::string> all_of;
    Place where;
};

enum class StopCategory : std::uint8_t { category_0, category_1, category_2, reduced_speed };  ///< IEC 60204-1, 9.2

/// What the machine does when a signal is 0.
struct MachineReaction {
    std::string signal;
    StopCategory stop = StopCategory::category_0;
    Place where;
};

/// What holds the load once the power is gone (category 0). Without one, `braking` begins with the drive's reaction.
struct Brake {
    Duration delay{};    ///< from the drive's reaction until it grips
    bool drops = false;  ///< a vertical load: in that time it falls freely towards the danger, else it goes on as it is
};

/// The dangerous motion, in micrometres per second so that times stay exact.
struct Machine {
    std::string name = "machine";  ///< "press", "table", "lift"
    End at = End::device;
    Duration reaction_delay{};            ///< drive: from the output command to the first change
    std::int64_t speed_um_s = 0;          ///< full speed
    std::int64_t reduced_speed_um_s = 0;  ///< 0: none
    std::int64_t braking_um_s2 = 0;       ///< deceleration, power removed (category 0)
    std::int64_t ramp_um_s2 = 0;          ///< controlled deceleration (categories 1, 2, reduced speed)
    std::optional<Brake> brake = {};
    std::int64_t gravity_um_s2 = 9'806'650;  ///< standard acceleration of gravity, ISO 80000-3
    /// There and back again, once and again: the way of the point whose speed counts; 0 where positions do not matter.
    std::int64_t travel_um = 0;
    std::int64_t travel_angle_mdeg = 0;  ///< the same travel of a turning machine, 0.001 degree; 0: it does not turn
    std::optional<Duration> output_watchdog = {};  ///< switches the output off when its end does not scan for so long;
                                                   ///< an independent circuit of its own, else nothing does
    std::vector<MachineReaction> reactions;
};

/// What the safety function requires, stated before any watchdog: age and demand limits from sampling to output.
struct Required {
    std::optional<Duration> to_device;  ///< nothing: the bound computed from the settings is used, and this is said
    std::optional<Duration> to_controller;
    std::optional<Duration> overall = {};  ///< from the demand to the end of the hazard, sensor and stop included
};

/// Which guard's distance is reckoned, by which rule, and how far it stands from the hazard.
struct GuardDistance {
    std::string safeguard;
    DistanceCase how;
    std::optional<std::int64_t> there_um;  ///< at hand; nothing: only what is needed is asked for
    Place where;
};

/// What of the machine's stop may be counted.
struct Stopping {
    bool ramp_monitored = false;             ///< something stops the machine at once if it leaves its ramp
    bool standstill_monitored = false;       ///< the same for a machine that stands with its power on (category 2)
    bool reduced_speed_ends_hazard = false;  ///< says the risk assessment
    std::optional<Duration> power_off_after = {};  ///< ramp not monitored: the power goes so long after the command;
                                                   ///< nothing: after the time that the ramp should take
    std::string measured_file = {};
    std::vector<Duration> measured = {};  ///< ten or more: output command to standstill, worst position and load
};

/// A part of the response outside the link and its plant: a relay, another link.
struct OutsidePart {
    enum class Place : std::uint8_t { before_link, after_link };
    std::string name;
    Place at = Place::before_link;
    Duration delay{};
    Duration with_fault{};
    std::string source;
};

/// How often a plant may stop for nothing.
struct TripLimit {
    double per_year = 0.1;  ///< above 0; unless stated one in ten years
    bool stated = false;
};

/// A distribution of one-way delays.
struct DelayShape {
    enum class Kind : std::uint8_t { constant, uniform, histogram };
    Kind kind = Kind::constant;
    Duration low{};   ///< constant value, or lower end
    Duration high{};  ///< upper end of uniform
    struct Cell {
        Duration low, high;
        std::uint64_t weight;
    };
    std::vector<Cell> cells;    ///< histogram: uniform within a cell
    std::string preset = {};    ///< name of the preset it comes from, which is only an illustration; else empty
    std::uint64_t samples = 0;  ///< measured delays that it was made of; 0: not measured
};

/// Loss in bursts: a chain with a good and a bad state, moved on once for each telegram (Gilbert, Bell System Technical
/// Journal 39, 1960; Elliott, the same 42, 1963). Probabilities.
struct BurstLoss {
    double good_to_bad = 0.0;
    double bad_to_good = 0.0;
    double in_good = 0.0;  ///< of losing a telegram in the good state
    double in_bad = 1.0;
};

/// Other traffic in front of the telegrams: one server, first come first served. See sim/channel/background_queue.hpp.
struct BackgroundTraffic {
    enum class Kind : std::uint8_t { constant, bursts };
    Kind kind = Kind::bursts;
    Duration service{};    ///< for one packet, the own telegrams too; a slot of the model
    double load = 0.0;     ///< share of the server's time that the other traffic asks for; above 1 the queue grows
    unsigned burst = 1;    ///< packets that come together
    Duration room{};       ///< work that the queue holds; what does not fit is lost
    double ramp_to = 0.0;  ///< load after the ramp; equal to `load` without one
    Duration ramp_from{};  ///< run time at which the ramp begins
    Duration ramp_lasting{};
};

/// One direction of the channel.
struct ChannelSettings {
    DelayShape delay;
    double loss = 0.0;                            ///< probability per telegram
    std::optional<BurstLoss> bursts = {};         ///< in place of `loss`
    std::optional<BackgroundTraffic> queue = {};  ///< before the delay
    double bit_error_rate = 0.0;                  ///< probability per bit
    bool keep_order = true;                       ///< R-80; false: telegrams with shorter delays overtake
};

enum class ErrorKind : std::uint8_t {
    corruption,
    repetition,
    incorrect_sequence,
    loss,
    delay,
    insertion,
    masquerade,
    addressing,
    none,  ///< none of the eight: an end fails, not the way between
};
std::string_view name_of(ErrorKind error);  ///< as in JSON: "incorrect-sequence"; "none" there is null

/// The ways in which an error comes about. Each belongs to one error.
enum class FaultWay : std::uint8_t {
    // corruption
    flip_bits,    ///< the bit indices listed in `bits`
    random_bits,  ///< `count` different random bits
    burst,        ///< a burst of `length` bits (first and last flipped), in the CRC's own bit order
    bit_rate,     ///< each bit with probability `rate`
    truncate,     ///< `count` bytes cut off the end
    // repetition
    beside,          ///< the telegram `back` earlier, in addition to the new one
    instead,         ///< the telegram `back` earlier, in place of the new one
    current_again,   ///< the same telegram twice
    old_parameters,  ///< the last parameter telegram of an earlier start
    // incorrect sequence
    hold,  ///< held for `hold`, delivered after later ones
    // loss
    drop,  ///< so many telegrams as `times` says, or all within `lasting`
    // delay
    step,      ///< `extra` latency while it lasts
    creeping,  ///< `extra` more in every second while it lasts
    // insertion
    neighbour,  ///< a telegram of the neighbour link beside the right one
    stray,      ///< own addresses, valid CRC, from an earlier start
    // masquerade
    no_crc,     ///< right length, addresses, number; CRC field zero
    other_crc,  ///< the same with the CRC of another integrity system (CRC-16/ARC, repeated to the field's width)
    all_zero,   ///< all bytes zero
    // addressing
    swap,       ///< this link's telegrams to the neighbour and the neighbour's to this one
    loop_back,  ///< the sender's own telegram back to it
    // no error of the way: something fails at one end, `at_end`
    restart,      ///< its power is off for `lasting`, then it starts anew
    stall,        ///< its scans do not happen for `lasting`; outputs stay as they are
    frozen_data,  ///< its application takes in no new values, while the link lives on
    clock_drift,  ///< its clock is fast by `drift_ppm` millionths
};
std::string_view name_of(FaultWay way);
ErrorKind error_of(FaultWay way);

/// A named part of a telegram for corruption; whole: any bit.
enum class TelegramField : std::uint8_t { whole, status, address, sequence, payload, crc };

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
    // expected
    std::optional<std::string> expect_outcome;    ///< "safe-state", "tolerated", "no-effect", "dangerous"
    std::vector<std::string> expect_detected_by;  ///< any of these measures; "none" for null
    std::optional<std::string> expect_end;        ///< "controller" or "device"
    Place where;
};

/// The contacts that a demand opens: both unless something is wrong with the safeguard.
enum class DemandChannel : std::uint8_t { both, a, b };

/// A demand on a safeguard.
struct Demand {
    std::string safeguard;
    Duration at{};
    Duration lasting{};
    Place where;
    DemandChannel channel = DemandChannel::both;
};

/// What the operator does, and on which event.
struct OperatorAct {
    enum class Event : std::uint8_t {
        acknowledgement_requested,
        link_running,  ///< both ends running (at start and after each acknowledgement)
        time,          ///< at `after` from the start of the run
    };
    enum class Act : std::uint8_t {
        acknowledge,
        hold_acknowledge,
        start_machine,
        reset,  ///< of a latched safeguard: it starts nothing (ISO 13850)
    };
    Event event = Event::acknowledgement_requested;
    Act act = Act::acknowledge;
    Duration after{};
    Place where;
    std::string safeguard = {};  ///< of a reset
};

/// The neighbour link: same exchange and settings as the controller of this link was given, other addresses.
struct Neighbour {
    std::string name = "neighbour link";
    std::uint32_t controller_address = 0;
    std::uint32_t device_address = 0;
    Place where;
};

struct Scenario {
    std::string file;  ///< as given
    std::string title;
    std::string shows;  ///< one or two sentences
    std::string plant;  ///< "veneer press"
    std::uint64_t seed = 1;
    Duration duration{};
    Duration device_phase{};  ///< of the device's scan against the controller's
    TypedEnd controller, device;
    ChannelSettings to_device, to_controller;
    std::optional<Neighbour> neighbour;
    std::vector<Safeguard> safeguards;
    std::vector<Signal> signals;
    std::optional<Machine> machine;
    Required required;
    std::optional<GuardDistance> distance = {};
    Stopping stopping = {};
    std::vector<OutsidePart> outside_parts = {};
    TripLimit trip_limit = {};
    /// Largest one-way delay outside faults, promised by whoever runs the network: a stream in which nobody measures
    /// the age of a value has a bound only with it.
    std::optional<Duration> declared_delay = {};
    std::vector<Fault> faults;
    std::vector<Demand> demands;
    std::vector<OperatorAct> operator_acts;
    std::string expect_verdict = "pass";  ///< "pass", "fail", "dangerous"
    // Made in code only, to look at measures one by one: no file can say these.
    proto::ProfileUse use = proto::ProfileUse::link;
    /// The integrity system of the non-safety traffic that masquerades; nothing: CRC-16/ARC.
    std::optional<proto::CrcSpec> other_traffic_crc = {};

    [[nodiscard]] const TypedEnd& end(End e) const { return e == End::controller ? controller : device; }
};

}  // namespace sim
