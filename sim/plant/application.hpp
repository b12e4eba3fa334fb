#pragma once
// The application program of one end: combines safeguards and received signals into the signals that it sends.
// Signals are numbered as in the scenario, at most 64; a word holds one bit per signal, 1 = no demand.
#include <cstdint>
#include <span>
#include <vector>

#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

inline constexpr unsigned signals_max = 64;
inline constexpr unsigned safeguards_max = 64;

/// What an application looks at: one bit each, 1 = no demand; of modes those that act, two while one is changed for
/// another.
struct Inputs {
    std::uint64_t received = 0;  ///< signals
    std::uint64_t safeguards = 0;
    std::uint64_t modes = 0;
    std::uint64_t muted = 0;  ///< signals
};

/// How one signal is computed.
class SignalRule {
  public:
    /// Requires names as the reader checks them.
    SignalRule(const Scenario& scenario, std::size_t signal);
    [[nodiscard]] std::size_t signal() const { return signal_; }
    [[nodiscard]] bool value(const Inputs& inputs) const {
        if ((inputs.muted >> signal_ & 1) != 0) return true;
        if (in_mode_ != 0 && (in_mode_ & inputs.modes) == 0) return true;
        // a mode that is selected alone is a source like any other
        const std::uint64_t alone = (inputs.modes & (inputs.modes - 1)) == 0 ? inputs.modes : 0;
        const bool all = (all_.safeguards & ~inputs.safeguards) == 0 && (all_.received & ~inputs.received) == 0 &&
                         (all_.modes & ~alone) == 0;
        const bool any = !asks_for_any_ || (any_.safeguards & inputs.safeguards) != 0 ||
                         (any_.received & inputs.received) != 0 || (any_.modes & alone) != 0;
        return all && any;
    }

  private:
    std::size_t signal_;
    Inputs all_, any_;
    bool asks_for_any_;
    std::uint64_t in_mode_ = 0;
};

class Application {
  public:
    /// Requires names, ends and bits as the reader checks them.
    Application(const Scenario& scenario, End end);

    /// Signals received at this end, as its own bit map reads them.
    [[nodiscard]] std::uint64_t read(std::span<const std::uint8_t> input) const;
    /// Signals sent by this end: each 1 while its sources are as it asks for, or in a mode that does not ask for it.
    /// The second bits of pairs are left at 0.
    [[nodiscard]] std::uint64_t evaluate(const Inputs& inputs) const;
    /// Some signal that this end uses comes to it by no bit of this link; at the controller of a cell only.
    [[nodiscard]] bool uses_elsewhere() const { return !elsewhere_.empty(); }
    /// Those signals, as if every other link brought its values at once: for a link that stands alone.
    [[nodiscard]] std::uint64_t elsewhere(Inputs inputs) const;
    /// Puts the signals of `sent` on their bits; other bits are left alone.
    void write(std::uint64_t sent, std::span<std::uint8_t> output) const;
    /// Signals that this end sends, and those that it receives.
    [[nodiscard]] std::uint64_t sends() const { return sends_; }
    [[nodiscard]] std::uint64_t receives() const { return receives_; }

  private:
    struct Bit {
        unsigned signal = 0;
        BitPlace place;
    };
    std::vector<Bit> in_, out_;
    std::vector<SignalRule> rules_;
    std::vector<SignalRule> elsewhere_;  ///< in the order of the scenario
    std::uint64_t sends_ = 0, receives_ = 0;
};

/// Signals that fall, in the end, when those of `zero` are 0, with no demand anywhere, these too. `mode` as below.
std::uint64_t signals_falling_with(const Scenario& scenario, std::uint64_t zero, std::size_t mode = 0);

/// Signals that fall, in the end, when that safeguard alone is demanded: those it feeds, and those fed by them. `mode`:
/// while that one is selected; without modes it means nothing.
/// `muted`: signals that it does not bring down, one bit each.
std::uint64_t signals_depending_on(const Scenario& scenario, std::size_t safeguard, std::size_t mode = 0,
                                   std::uint64_t muted = 0);

}  // namespace sim
