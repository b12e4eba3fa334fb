#pragma once
// What a recorder beside each end would show: every telegram with its verdict, and the readings that follow from them.
// Keeps the latest telegrams, and besides those around the first stop.
#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <tuple>
#include <utility>
#include <vector>

#include "proto/telegram.hpp"
#include "sim/judge/events.hpp"

namespace sim {

/// A field of up to 32 bits as it stands in the bytes; nothing where it is not in them, or they are too short.
std::optional<std::uint32_t> number_at(std::span<const std::uint8_t> bytes, proto::FieldPlace place);

/// One telegram as seen at one end.
struct Seen {
    enum class Kind : std::uint8_t { sent, arrived };
    Kind kind = Kind::sent;
    std::uint64_t serial = 0;   ///< in the order in which they were seen
    End end = End::controller;  ///< where it was seen
    Instant at{};
    std::vector<std::uint8_t> bytes;
    std::optional<std::uint32_t> number;            ///< as carried in the bytes
    Tag tag{};                                      ///< the truth; of a sent one only its instance
    std::optional<proto::Verdict> verdict = {};     ///< of an arrived one, once the end has looked at it
    unsigned bits_changed = 0;                      ///< against what its sender sent
    std::optional<TypedAddress> fits_address = {};  ///< of the neighbour that it comes from
    std::optional<Instant> due = {};                ///< of a sent one that travels on: when it arrives
    std::optional<Instant> lost = {};               ///< of a sent one that does not
    std::optional<Instant> looked_at = {};          ///< of an arrived one, with its verdict
};

/// Ages and round trips, by the clock of the end that measures.
struct Measured {
    std::optional<Duration> last, shortest, longest;
    Instant last_at{}, longest_at{};
};

/// How something measured went on over a whole run, thinned: so many points at most.
class Trail {
  public:
    static constexpr std::size_t points_max = 120;
    struct Point {
        Instant at;
        Duration value;
    };
    void note(Instant at, Duration value);
    [[nodiscard]] const std::vector<Point>& points() const { return points_; }

  private:
    std::vector<Point> points_;
    Duration every_ = proto::milliseconds(250);
};

class Recorder {
  public:
    static constexpr std::size_t kept = 240;          ///< latest telegrams, both ends together
    static constexpr std::size_t around_before = 60;  ///< of them before a first stop
    static constexpr std::size_t around_after = 40;
    static constexpr std::size_t readable_at_once = 16;

    /// The scenario must outlive it.
    explicit Recorder(const Scenario& scenario);

    using hears = std::tuple<Sent, Befell, Underway, Delivered, Scanned>;
    void hear(const Sent& sent);
    void hear(const Befell& befell);
    void hear(const Underway& underway);
    void hear(const Delivered& delivered);
    void hear(const Scanned& scanned);
    /// The end has looked at the oldest telegram of that identity.
    void concluded(End end, std::uint64_t token, const proto::Verdict& verdict, Instant now);
    /// The telegrams before now are kept, and some that follow; only the first call counts.
    void hold_here();
    /// What was measured before now is forgotten; telegrams are not.
    void measure_anew();
    /// A new start of the end: what waited there is gone.
    void forget_waiting(End end);

    /// Telegrams without a verdict have not been looked at yet, or never will be.
    [[nodiscard]] const std::deque<Seen>& latest() const { return latest_; }
    [[nodiscard]] const std::vector<Seen>& around_first_stop() const { return held_; }
    /// The last ones of the last whole second: what somebody can read while more come. All up to `now` if none has come
    /// for a second.
    [[nodiscard]] std::vector<Seen> readable(Instant now) const;
    [[nodiscard]] std::optional<Instant> last_good(End end) const { return side(end).last_good; }
    [[nodiscard]] Duration longest_cycle(End end) const { return side(end).longest_cycle; }
    /// From the first sending under a number to its first answer, in time or not, at the controller; polled links only.
    [[nodiscard]] const Measured& round_trip() const { return round_trip_; }
    /// Age of what that end accepted, by its own clock and the sender's, set equal when the link started.
    [[nodiscard]] const Measured& age(End end) const { return side(end).age; }
    /// The same over the whole run.
    [[nodiscard]] const Trail& ages(End end) const { return side(end).ages; }

  private:
    struct Sending {
        std::uint64_t instance = 0;
        Instant at, local;
        std::optional<std::uint32_t> number;
        bool answered = false;
    };
    struct Side {
        std::deque<std::pair<std::uint64_t, Tag>> waiting;  ///< arrived, not yet looked at: serials
        std::deque<Sending> sent;                           ///< first sendings, the newest last
        std::optional<Instant> last_good, last_scan;
        std::deque<std::pair<Instant, Instant>> scans;  ///< true time and the own clock's, the newest last
        Duration longest_cycle{};
        Measured age;
        Trail ages;
        std::optional<Duration> offset;  ///< of the sender's clock against this end's, as measured at the start
    };
    [[nodiscard]] const Side& side(End end) const { return sides_[static_cast<std::size_t>(end)]; }
    [[nodiscard]] Side& side(End end) { return sides_[static_cast<std::size_t>(end)]; }
    /// Its serial.
    std::uint64_t keep(Seen seen);
    /// Changes what was sent last, wherever it is kept.
    template <class Change>
    void of_last_sent(Change change);
    [[nodiscard]] std::vector<Seen> last_ones() const;
    void compare_with_sent(Seen& seen) const;
    void measure(End end, const Tag& tag, Instant now);
    void measure_round_trip(std::optional<std::uint32_t> number, Instant now);

    const Scenario& scenario_;
    std::array<proto::FieldPlaces, 2> places_;  ///< by sending end
    std::array<Side, 2> sides_;
    std::deque<Seen> latest_;
    std::vector<Seen> of_second_;
    std::optional<std::uint64_t> last_sent_;  ///< its serial
    std::int64_t second_ = -1;                ///< that of_second_ was before
    std::uint64_t serials_ = 0;
    std::vector<Seen> held_;
    std::size_t to_hold_ = 0;
    bool holding_ = false;
    Measured round_trip_;
};

}  // namespace sim
