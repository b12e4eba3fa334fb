#pragma once
// The truth about values in the payload: what each telegram's values meant at their source, what of that is in use, and
// which changes towards the safe end are still on their way. It finds what differs; the observer judges it.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/judge/events.hpp"
#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;

class ValueWatch {
  public:
    /// The scenario must outlive it.
    explicit ValueWatch(const Scenario& scenario);
    /// As it was at first.
    void begin_again();

    /// Something better than substitutes is in use at the end of that way.
    [[nodiscard]] bool permits(Direction way) const { return ways_[index(way)].permits; }

    /// From that instance on the telegrams of the way carry these values.
    void meant(const ValuesMeant& meant, std::uint64_t from_instance);
    /// The values of telegram `instance` are in use, or substitutes. Says which differ from what was meant, in words,
    /// if nothing did before; `expected`: else the telegram is none whose meaning counts.
    std::optional<std::string> in_use(const ValuesInUse& in_use, std::uint64_t instance, bool expected, bool running);
    /// Only substitutes are in use at the end of that way: its link stopped, or its outputs went off.
    void off(Direction way, Instant now);

    /// A change towards the safe end that took longer than allowed.
    struct Late {
        Instant since{};
        std::string what;
    };
    /// Those of the way that are late by now, each told once.
    std::vector<Late> late(Direction way, Duration allowed, Instant now);

    /// What was seen of each value.
    [[nodiscard]] const std::vector<ValueResult>& seen() const { return seen_; }

  private:
    [[nodiscard]] static std::size_t index(Direction way) { return static_cast<std::size_t>(way) & 1; }
    /// Telegrams from this instance on mean this.
    struct Meaning {
        std::uint64_t from_instance = 0;
        ValueWord values;
    };
    struct Change {
        std::size_t value = 0;
        std::int64_t to = 0;
        Instant since{};
        bool late = false;  ///< told already
    };
    struct Way {
        std::vector<Meaning> meanings;  ///< in the order of instances; older than the one in use only the last
        std::vector<Change> open;
        ValueWord used;
        bool ran = false;      ///< the sender, when it last said what it means
        bool permits = false;  ///< see permits()
        bool differs = false;  ///< told already
    };
    [[nodiscard]] Instant since_of(std::size_t value, Instant now) const;
    void changed_at_source(Way& way, std::size_t value, std::int64_t to, Instant now);
    void note_use(Direction direction, const ValueWord& now, bool running);
    void close_changes(Way& way, Instant now);

    const Scenario& scenario_;
    ValueWord none_;  ///< every value its substitute
    std::array<Way, 2> ways_;
    std::vector<ValueResult> seen_;
};

}  // namespace sim
