#pragma once
// The faults on the way: one stage of the channel for each fault of a scenario, one file for each error.
//
// When. A fault begins at a run time or with the n-th process telegram of a direction. Without a duration it acts on
// `times` process telegrams in a row (1 if not given), counted for each direction by itself; a fault at a time begins
// with the first one that is offered at or after it. With a duration it acts on everything that is offered from its
// begin until the duration is over, parameter telegrams too; both directions then share one begin, since a cable that
// is pulled is pulled both ways. Within that extent only the first, and from there each `every`-th, is touched.
//
// Condition. What a fault asks of the surroundings is asked for each telegram when it is offered; one for which it is
// not so does not count. An event ends the fault for good. Without `times` and a duration a fault that an event ends
// acts like one with a duration until then.
//
// What. Link 0 only, except for addresses swapped with a neighbour. Between links of a cell each has a stage of its own
// for its telegrams, and what goes to another link or comes from one goes through OtherLinks. A touched or added
// telegram carries 1 + the fault's index in its tag and is reported to the log; where there was nothing to do (no net
// change of bytes, no old telegram to repeat, no neighbour), nothing is reported.
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "proto/profile.hpp"
#include "proto/telegram.hpp"
#include "sim/channel/channel.hpp"
#include "sim/channel/surroundings.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

/// How the process telegrams of one direction of link 0 are built.
struct Wire {
    proto::Profile profile;
    proto::Layout layout;
    proto::FieldPlaces places;  ///< in the first copy
};

/// The other links of a cell, as the faults of one link reach them. `fault`: its index in this link's scenario.
class OtherLinks {
  public:
    /// The newest process telegram that the fault's other link had offered on that way before `now`, tagged as one of
    /// that link; nullptr if there is none yet. Valid until the next call.
    [[nodiscard]] virtual const Past* newest(std::size_t fault, Direction way, Instant now) = 0;
    /// A telegram of this link, with its passage here, arrives at the end of the other one that is the receiver of its
    /// way, at its due time but never within the instant in which it was sent.
    virtual void hand_over(std::size_t fault, const Telegram& telegram, const Passage& passage, Instant since) = 0;

  protected:
    ~OtherLinks() = default;
};

/// What stages need to know. Must outlive them, and so must the log.
struct StageContext {
    std::uint64_t seed = 0;
    std::array<Wire, 2> wires;  ///< by Direction
    InjectionLog* log = nullptr;
    const Surroundings* surroundings = nullptr;  ///< needed for faults with a condition
    bool neighbour = false;                      ///< link 1 is there
    OtherLinks* others = nullptr;                ///< of a cell that moves; may be set after the stages are made
    std::optional<proto::CrcSpec> other_traffic_crc = {};  ///< of the traffic that masquerades; nothing: CRC-16/ARC
    /// By Direction, oldest first: what was sent in an earlier start of link 0, parameter telegrams too (their tags say
    /// which). Needed for `stray`, and for `old_parameters` on the way to the controller.
    std::array<std::vector<Past>, 2> strays;

    [[nodiscard]] const Wire& wire(Direction direction) const { return wires[static_cast<std::size_t>(direction)]; }
};

/// The stage for `fault`, which is number `index` (below 4095) of its scenario. The channel it is added to must keep
/// its history if needs_history(). Requires a log in the context and a fault with exactly one begin, n-th telegrams
/// and `every` from 1, and a way that belongs to its error.
std::unique_ptr<FaultStage> make_stage(const Fault& fault, std::size_t index, const StageContext& context);

/// Whether a fault repeats what was offered before.
bool needs_history(const Fault& fault);

}  // namespace sim
