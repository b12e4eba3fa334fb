#pragma once
// What becomes of every telegram of the link under rehearsal, told while it happens: for a capture. Nobody has to
// listen. Who listens knows the truth, like the observer, and changes nothing.
#include <cstdint>
#include <span>

#include "sim/channel/passage.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// Why a telegram that reached an end was never looked at.
enum class Unheard : std::uint8_t {
    power_off,   ///< the end was without power
    queue_full,  ///< more came in one scan than the end's queue holds
    forgotten,   ///< it still waited when the end lost its power
    missed,      ///< nobody knows: of a live run, lost behind the channel
};

/// Told in the order of time.
class TelegramTrace {
  public:
    /// An end sent a telegram: the channel has it.
    virtual void sent(Direction direction, std::span<const std::uint8_t> bytes, Instant now) = 0;
    /// What the channel did with the one sent last. Perhaps several times.
    virtual void befell(const Tag& tag, Fate fate) = 0;
    /// A telegram reached an end. `tag` is the truth about it.
    virtual void delivered(End to, const Tag& tag, std::span<const std::uint8_t> bytes, Instant now) = 0;
    /// The one that reached that end last (`forgotten`: all that still wait there) will not be looked at.
    virtual void unheard(End at, Unheard why) = 0;
    /// What the end made of the oldest one that waits there.
    virtual void concluded(End at, const proto::Verdict& verdict, Instant now) = 0;
    /// Nothing more is wanted.
    [[nodiscard]] virtual bool full() const = 0;

  protected:
    ~TelegramTrace() = default;
};

}  // namespace sim
