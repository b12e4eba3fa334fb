#pragma once
// One part of a live link: an end with its scan and its side of the plant, or the channel between the ends. It is moved
// at the true time by whoever has the clock and the socket; what there is to tell it writes down.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "sim/drive/join.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

struct WholeCell;

/// What a part of a link shows of itself while it runs.
struct PartShown {
    std::optional<EndShown> end;       ///< nothing for the channel
    std::uint64_t used = 0, sent = 0;  ///< signals, as the end uses and computes them
    std::optional<Instant> last_good;  ///< of the end: when it took a telegram
    std::uint64_t scans = 0;
};

class LivePart {
  public:
    /// Takes telegrams to the network: of the channel, to that end; of an end, to its channel.
    using Send = std::function<void(End to, std::span<const std::uint8_t> bytes)>;

    LivePart() = default;
    LivePart(const LivePart&) = delete;
    LivePart& operator=(const LivePart&) = delete;
    virtual ~LivePart() = default;

    /// Starts anew at `now`, before anything ran; `entropy` must be different each time.
    virtual void start(std::uint64_t entropy, Instant now) = 0;
    /// Instead of start(): goes on with a run in which an earlier start of the same part wrote down `before`. It was
    /// away in the last of the absences there, up to now: what happened to the plant in that time happened.
    virtual void take_up(const PartRecord& before, std::uint64_t entropy) = 0;
    /// When do_due() is next wanted.
    [[nodiscard]] virtual Instant next_event() const = 0;
    /// Does what is due at `now`, as if it happened at the true time `now`; how late the latest of it was.
    virtual Duration do_due(Instant now) = 0;
    /// A telegram came in. `way`: of the channel, by whom it was sent; an end asks for none.
    virtual void arrive(Direction way, std::span<const std::uint8_t> bytes, Instant now) = 0;
    /// What was written down so far belongs to no run: it begins now.
    virtual void forget() = 0;
    /// Moves what was seen since the last time behind what `record` has.
    virtual void move_to(PartRecord& record) = 0;
    /// What it shows now, for whoever waits for it.
    [[nodiscard]] virtual PartShown shown() const = 0;
    /// The rest of the record, once nothing more happens.
    void finish(PartRecord& record) {
        move_to(record);
        const PartShown last = shown();
        record.scans = last.scans;
        if (last.end) record.shown = *last.end;
    }
};

/// What one part of a cell moves: an end or the channel of each link that it carries.
class LiveLanes {
  public:
    LiveLanes() = default;
    LiveLanes(const LiveLanes&) = delete;
    LiveLanes& operator=(const LiveLanes&) = delete;
    virtual ~LiveLanes() = default;
    [[nodiscard]] virtual std::size_t size() const = 0;
    [[nodiscard]] virtual LivePart& lane(std::size_t index) = 0;
    /// See LivePart.
    virtual Duration do_due(Instant now) = 0;
    [[nodiscard]] Instant next_event() {
        Instant next = proto::never;
        for (std::size_t i = 0; i < size(); ++i) next = std::min(next, lane(i).next_event());
        return next;
    }
};

/// The controller of a cell: one scan for all links that are due. `links`: each as it is in the cell, with the seed of
/// its own; `sends`: where its telegrams go. All must outlive it.
std::unique_ptr<LiveLanes> live_controller(const WholeCell& cell, const std::vector<Scenario>& links,
                                           const std::vector<std::uint64_t>& seeds, std::vector<LivePart::Send> sends);
/// Lanes that have nothing in common.
std::unique_ptr<LiveLanes> live_lanes(std::vector<std::unique_ptr<LivePart>> lanes);

/// Requires a scenario that the reader has accepted (with the restarts by hand of take_up()), whose faults have no
/// condition and which outlives the part.
std::unique_ptr<LivePart> live_end(const Scenario& scenario, std::uint64_t seed, End end, LivePart::Send send);
/// `before`: what an earlier start of it wrote down, see take_up(); faults that touched something by then are over.
std::unique_ptr<LivePart> live_channel(const Scenario& scenario, std::uint64_t seed, LivePart::Send send,
                                       const PartRecord* before = nullptr);

}  // namespace sim
