#pragma once
// The bench of a desk: a link, or several at one controller, that run in virtual time as they are typed while people
// act on them. Whoever owns it says how far time goes on; it never looks at a clock.
//
// The law: what people did, written as demands, operator's acts and faults (kept_blocks()) and rehearsed with the same
// seed, passes through the same states at the same nanoseconds as were shown here. So each act goes into the running
// links as the same entry that a rehearsal makes of it at its begin, and where an end is not known yet (a guard held, a
// cable out, an end without power, a fault that stays), the entry gets its end when that comes.
//
// The instant of an act: the first whole microsecond that is not before now, is later than that of the last act, and at
// which neither it nor what follows from it (a sensor's delay, a button let go, a fault's end) meets anything else that
// people or failing ends are to do: of two such things at one instant the order would be another in a rehearsal, which
// knows all acts from the beginning. now() is then just after that instant, at most a few microseconds on.
#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/desk/desk_trace.hpp"
#include "sim/desk/refusal.hpp"
#include "sim/desk/shown.hpp"
#include "sim/desk/telegrams.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

struct Scenario;
struct WholeCell;
class DeskRun;

class DeskBench {
  public:
    enum class Begin : std::uint8_t {
        by_hand,     ///< without the file's faults, demands and operator's acts: people do all that
        as_written,  ///< with them, as a rehearsal runs; people may act besides
    };
    /// When a fault begins that somebody puts in.
    struct When {
        enum class Kind : std::uint8_t { now, after, next_demand };
        Kind kind = Kind::now;
        Duration after{};  ///< of Kind::after
    };
    static constexpr std::size_t acts_max = 4000;     ///< further ones are refused
    static constexpr std::size_t events_kept = 1000;  ///< lines of the log
    static constexpr std::size_t telegrams_kept = 400;

    /// Requires a scenario, or a cell, as the reader gives it. `trace`: every change is told to it, and it outlives the
    /// bench.
    DeskBench(const Scenario& scenario, std::uint64_t seed, Begin begin, DeskTrace* trace = nullptr);
    DeskBench(const WholeCell& cell, std::uint64_t seed, Begin begin, DeskTrace* trace = nullptr);
    ~DeskBench();
    DeskBench(const DeskBench&) = delete;
    DeskBench& operator=(const DeskBench&) = delete;

    // ---- time ----
    /// Runs every event before `end`; not backwards.
    void run_until(Instant end);
    [[nodiscard]] Instant now() const;
    /// One step: past the next telegram made or arriving, conclusion, or change of state, of any link, an instant taken
    /// as a whole; at most to `limit`. False if nothing came before.
    bool step(Instant limit);
    /// Past the next change of state of an end, or command or start of a machine; at most to `limit`. False if nothing
    /// came before.
    bool run_to_change(Instant limit);

    // ---- acts; links, stations, guards, machines and modes by their names in the file; a link alone has the name ""
    // ----
    /// Interrupts a guard, or lets it go. Let go before its least hold is over it stays interrupted until then.
    DeskRefusal guard(std::string_view name, bool interrupted);
    /// Presses the button that acknowledges a link, or without one that of every link, and lets it go.
    DeskRefusal acknowledge(std::optional<std::string_view> link = {});
    /// Presses and lets go the reset of a guard; it starts nothing.
    DeskRefusal reset(std::string_view guard);
    /// Without a name the only machine. Refused with why it did not start.
    DeskRefusal start_machine(std::string_view machine = {});
    /// The emergency stop that is wired to the machine itself and needs no link: it latches, and cuts the machine as
    /// its stop of category 0 does. Released it starts nothing. It is no act of the link, and no file can say it: see
    /// kept_until(). Without a name the only machine.
    DeskRefusal emergency_stop(std::string_view machine, bool pressed);
    DeskRefusal select_mode(std::string_view mode);
    /// The cable of a link, for both ways.
    DeskRefusal cable(std::string_view link, bool plugged_in);
    /// The supply of an end; that of the controller is one for all links.
    DeskRefusal power(std::string_view link, End end, bool on);
    /// Puts a fault in; its begin is set from `when`. See usual_fault() for one of each way.
    DeskRefusal put_in(std::string_view link, Fault fault, When when);
    /// All that people put in, also what has not begun; not cables and supplies, and not what the file has.
    DeskRefusal take_out_faults();

    // ---- readings ----
    [[nodiscard]] DeskShown shown() const;
    [[nodiscard]] const std::vector<DeskAct>& acts() const;
    /// The latest.
    [[nodiscard]] const std::deque<DeskEvent>& log() const;
    /// Whether each telegram is kept from now on, or only the last of each way and every rejected one.
    void record_telegrams(bool each);
    /// The newest last, at most `telegrams_kept`.
    [[nodiscard]] std::vector<DeskTelegram> telegrams() const;
    /// Nothing if it is no longer kept, or has not been looked at by its end.
    [[nodiscard]] std::optional<DeskExplained> explain(std::uint64_t telegram) const;

    // ---- what was done, kept ----
    /// Up to when what was done can be kept: the instant at which an emergency stop was first pressed, since a
    /// rehearsal would pass through other states from there on; now, if none was.
    [[nodiscard]] Instant kept_until() const;
    /// The acts before kept_until() as [[demand]], [[operator]] and [[fault]] tables of the file's own format. A guard
    /// that is held, a cable that is out and an end without power are so until then; a fault that stays until it is
    /// taken out stays. One that waits for a demand is left out. A bench as written gives only what people did besides.
    [[nodiscard]] std::string kept_blocks() const;
    /// A run of that length has room for all of it, and for its ends to be seen; whole seconds.
    [[nodiscard]] Duration kept_duration() const;

  private:
    std::unique_ptr<DeskRun> run_;
};

}  // namespace sim
