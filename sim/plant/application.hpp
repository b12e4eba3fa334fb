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

class Application {
  public:
    /// Requires names, ends and bits as the reader checks them.
    Application(const Scenario& scenario, End end);

    /// Signals received at this end, as its own bit map reads them.
    [[nodiscard]] std::uint64_t read(std::span<const std::uint8_t> input) const;
    /// Signals sent by this end: each 1 while all its sources are. `safeguards`: one bit per safeguard, 1 = no demand.
    [[nodiscard]] std::uint64_t evaluate(std::uint64_t received, std::uint64_t safeguards) const;
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
    struct Rule {
        unsigned signal = 0;
        std::uint64_t safeguards = 0;  ///< all of these
        std::uint64_t signals = 0;     ///< and all of these received ones
    };
    std::vector<Bit> in_, out_;
    std::vector<Rule> rules_;
    std::uint64_t sends_ = 0, receives_ = 0;
};

/// Signals that fall, in the end, when that safeguard is demanded: those it feeds, and those fed by them.
std::uint64_t signals_depending_on(const Scenario& scenario, std::size_t safeguard);

}  // namespace sim
