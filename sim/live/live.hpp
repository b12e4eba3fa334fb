#pragma once
// The same ends, channel and faults over UDP with real timers: all three parts in one process, or one part alone.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "proto/result.hpp"
#include "sim/drive/join.hpp"

namespace sim {

struct Scenario;

/// "ADDRESS:PORT"; port 0 picks a free one.
struct Address {
    std::string host = "127.0.0.1";
    std::uint16_t port = 0;
    [[nodiscard]] bool loopback() const;
    /// Neither a group's, nor that of all on a network, nor the one that stands for all of this computer's.
    [[nodiscard]] bool of_one_computer() const;
    /// 0.0.0.0 or ::, all addresses of this computer.
    [[nodiscard]] bool every() const;
    [[nodiscard]] std::string written() const;
};
/// Nothing if `text` is no IPv4 or IPv6 address with a port.
std::optional<Address> address_from(const std::string& text);

/// Why a live run could not take place: the computer said no.
struct LiveError {
    std::string message;
};

/// What a part saw, kept while it runs: what is kept survives whatever becomes of the part.
class PartJournal {
  public:
    PartJournal() = default;
    PartJournal(const PartJournal&) = delete;
    PartJournal& operator=(const PartJournal&) = delete;
    virtual ~PartJournal() = default;
    /// The run begins, with the addresses and clocks in `record`; only the boot is not in it yet.
    virtual bool begin(const PartRecord& record) = 0;
    /// Keeps what `record` has of events, telegrams and lateness, which it is then rid of. `alive`: the run's time;
    /// `scans` so far. Before anything goes out that follows from it. False: it cannot be kept, and the part ends.
    virtual bool keep(PartRecord& record, Instant alive, std::uint64_t scans) = 0;
};

/// An earlier start of a part in a run that still goes on.
struct EarlierStart {
    PartRecord record;  ///< what it wrote down; its run began by the steady clock of this computer
    Instant alive{};    ///< the last sign of life
};

/// The steady clock of this computer, which all programs on it share until it is started anew.
std::int64_t steady_clock_ns();

struct LiveOptions {
    std::uint64_t entropy = 0;                     ///< different at each start: a true random number
    bool real_time = false;                        ///< ask for SCHED_FIFO and locked memory; what came of it is told
    bool typed_addresses = false;                  ///< all parts in one process: each end at the address typed there
    std::function<bool()> stop;                    ///< true ends the run early
    std::function<void(const std::string&)> tell;  ///< one line at a time, for people
};

/// All three parts on loopback, a socket each, in one thread. Takes the scenario's duration and a little more.
proto::Result<PartRecords, LiveError> run_live(const Scenario& scenario, std::uint64_t seed,
                                               const LiveOptions& options);

struct PartOptions {
    Part part = Part::controller;
    Address listen;
    Address peer;                         ///< controller and device: the channel; the channel: the controller
    Address second_peer;                  ///< the channel: the device
    PartJournal* journal = nullptr;       ///< else all is kept in memory until the end
    std::optional<EarlierStart> earlier;  ///< the run that this start goes on with
};

struct PartRan {
    PartRecord record;
    bool stopped = false;  ///< before its run was over
};

/// One part in this process; it waits for its peers, in any order. Its run begins when it first hears of them, or goes
/// on with the one of an earlier start. With a journal the record that comes back holds what that has not.
proto::Result<PartRan, LiveError> run_part(const Scenario& scenario, std::uint64_t seed, const PartOptions& part,
                                           const LiveOptions& options);

inline constexpr std::int64_t slowed_most = 1000;

/// By what factor a scenario may be slowed at most: a slope of its machine that became a few of its smallest units
/// would be another one, and one that became none a machine that stops at once.
std::int64_t pace_most(const Scenario& scenario);

/// Every duration of the scenario times `factor`.
Scenario slowed(Scenario scenario, std::int64_t factor);

/// How long a part goes on after its run, so that its peers do not see it vanish while theirs still last.
Duration goes_on_after(const Scenario& scenario);

/// The lateness up to which a run can be judged: a fifth of the shortest watchdog.
Duration lateness_allowed(const Scenario& scenario);

}  // namespace sim
