#pragma once
// What a desk's bench shows of the plant as it stands now: plain values, for whoever draws or writes them.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/plant/machine.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

using proto::Instant;

/// One end of a link.
struct DeskEnd {
    std::string name;
    proto::State state = proto::State::start_up;
    proto::Cause cause = proto::Cause::power_up;  ///< of the last stop, or of the start
    std::optional<proto::Measure> measure;        ///< that the cause names
    proto::Refusal refusal = proto::Refusal::none;
    Instant since{};                   ///< of this state
    std::optional<Instant> last_good;  ///< nothing accepted since its start: nothing
    Duration watchdog{};
    proto::Counters counters;   ///< since the begin of the run, or its own last start
    bool dark = false;          ///< it has no supply: nothing of it can be read
    bool switched_off = false;  ///< by somebody at the desk
    bool asks_for_acknowledgement = false;
};

/// A fault that people put in, or the file has.
struct DeskFault {
    std::size_t number = 0;  ///< 1.. in the order in which they were put in; the file's come first
    std::string words;
    std::optional<Instant> begins;  ///< nothing: with the next demand, or a telegram
    bool touched = false;           ///< it touched something
    bool over = false;              ///< it can touch nothing any more
};

struct DeskLink {
    std::string name;  ///< empty: it stands alone
    DeskEnd controller, device;
    bool cable_out = false;
    std::vector<DeskFault> faults;
};

struct DeskGuard {
    std::string name;
    std::optional<GuardKind> kind;
    std::string at;            ///< station
    bool held = false;         ///< by somebody at the desk, who has not let it go
    bool contact_free = true;  ///< no demand stands at its contacts
    bool free = true;          ///< what its end reads: contacts, latch and discrepancy taken together
    bool latched = false;
    bool reset_needed = false;  ///< its 0 stays although no demand does: a latch, a discrepancy, a reset asked for
    std::optional<Instant> held_until;  ///< let go, and interrupted until then (R-81, least hold)
    std::vector<std::string> signals;   ///< that it is a source of
};

/// One place where a signal has a value.
struct DeskValue {
    bool value = false;
    std::optional<Instant> changed;  ///< last; nothing: never
};

struct DeskSignal {
    std::string name;
    std::string link;
    Direction direction = Direction::to_device;
    DeskValue computed;                    ///< by the application of its sender
    DeskValue sent;                        ///< as the last fresh telegram that left carries it
    DeskValue received;                    ///< as the receiver's bit map reads what it accepted last
    DeskValue used;                        ///< by the application of its receiver
    bool substitute = true;                ///< the receiver uses its substitute value
    std::string machine;                   ///< that reacts to it; empty: none
    std::optional<StopCategory> reaction;  ///< that a 0 of it asks for
};

struct DeskMachine {
    std::string name;
    std::string link;
    std::int64_t speed_um_s = 0, full_um_s = 0;
    std::optional<std::int64_t> position_um, travel_um;  ///< where positions matter
    bool moves = false;
    bool started = false;                      ///< and not stopped since
    DriveCommand command = DriveCommand::run;  ///< by its signals and its emergency stop
    DriveCommand asked = DriveCommand::run;    ///< by its signals alone
    bool emergency_stop = false;               ///< its own, past the link, is pressed
    /// That was pressed then, and the machine not started since: its motion is no doing of the link from then on.
    std::optional<Instant> stopped_by_hand;
    std::optional<Instant> commanded;      ///< when that command came
    std::optional<Instant> reduced_since;  ///< at or under the reduced speed, of the last stop or reduction
    std::optional<Instant> stands_since;   ///< speed 0 with a stop in force
    std::optional<Instant> last_stop;      ///< when the last command other than run came
    std::string last_demand;               ///< the guard of the last demand that asks for something here; empty: none
    std::optional<Instant> last_demand_at;
};

struct DeskMode {
    std::string name;
    bool selected = false;
};

/// All of it at one instant.
struct DeskShown {
    Instant at{};
    std::vector<DeskLink> links;      ///< in the order of the file
    std::vector<DeskGuard> guards;    ///< likewise
    std::vector<DeskSignal> signals;  ///< of each link its own
    std::vector<DeskMachine> machines;
    std::vector<DeskMode> modes;
};

/// Something that somebody did.
struct DeskAct {
    std::size_t number = 0;  ///< 1..
    Instant at{};
    std::string words;
    std::string refused;  ///< why it had no effect; empty: it had
};

/// A line of the log.
struct DeskEvent {
    enum class Mark : std::uint8_t {
        act,      ///< somebody did something
        runs,     ///< an end runs
        stops,    ///< it does not any more
        machine,  ///< it was started or commanded
        guard,    ///< its contact turned
        fault,    ///< one touched something for the first time
        other,
    };
    std::uint64_t number = 0;  ///< 1.., also of those that are no longer kept
    Instant at{};
    Mark mark = Mark::other;
    std::string link;  ///< empty: of none, or it stands alone
    std::string words;
};

}  // namespace sim
