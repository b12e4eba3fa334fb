#pragma once
// The loop of two ends that exchange telegrams, for every test that moves endpoints itself: whose scan is next, what
// has arrived by then, what it sends. What the way does to a telegram is the test's: a channel is passed in. Time is
// virtual and true; nothing of the simulator is used here.
#include <algorithm>
#include <array>
#include <cstdint>
#include <functional>
#include <limits>
#include <span>
#include <vector>

#include "proto/endpoint.hpp"

namespace tests {

/// Telegrams on their way to one end, by the time at which they arrive; those of one instant in the order of sending.
class Way {
  public:
    struct InFlight {
        proto::Instant due;
        std::uint64_t token = 0;
        std::vector<std::uint8_t> bytes;  ///< of any number: what arrives need be no telegram
    };
    void put(proto::Instant due, std::span<const std::uint8_t> bytes, std::uint64_t token = 0);
    /// Takes out what is due by `now`, at most so many, and hands each to `take`.
    template <class Take>
    void take(proto::Instant now, std::size_t most, Take take) {
        std::size_t count = 0;
        for (; count < telegrams.size() && count < most && telegrams[count].due <= now; ++count) take(telegrams[count]);
        telegrams.erase(telegrams.begin(), telegrams.begin() + static_cast<std::ptrdiff_t>(count));
    }

    std::vector<InFlight> telegrams;
};

/// Hands what the end has to send at its `local` time to take(proto::Transmission, std::span<const std::uint8_t>).
template <class Take>
void poll(proto::Endpoint& end, proto::Instant local, Take take) {
    std::array<std::uint8_t, proto::telegram_bytes_max> out;
    for (;;) {
        const proto::Transmission what = end.poll_transmit(local, out);
        if (what.kind == proto::Transmission::Kind::none) return;
        take(what, std::span<const std::uint8_t>(out.data(), what.bytes));
    }
}

class TwoEnds {
  public:
    using Send = std::function<void(const proto::Transmission&, std::span<const std::uint8_t>)>;

    /// An end as the loop sees it. Times are true ones: an end with a clock of its own converts them.
    class Party {
      public:
        virtual ~Party() = default;
        /// proto::never while it is off.
        [[nodiscard]] virtual proto::Instant next_scan() const = 0;
        virtual void receive(const Way::InFlight& telegram) = 0;
        /// Scans and hands over what it sends. The next scan must be later.
        virtual void scan(proto::Instant now, const Send& send) = 0;
    };

    /// A telegram that was sent at now(): a channel puts what becomes of it into way_to().
    struct Sent {
        proto::End sender;
        proto::Transmission what;
        std::span<const std::uint8_t> bytes;
    };

    /// `first` scans first of two scans at one instant. The parties must outlive this.
    TwoEnds(Party& controller, Party& device, proto::End first) : parties_{&controller, &device}, first_(first) {}
    TwoEnds(const TwoEnds&) = delete;
    TwoEnds& operator=(const TwoEnds&) = delete;
    ~TwoEnds() = default;

    std::function<void(const Sent&)> channel;  ///< without one, all is lost
    std::function<void(proto::End)> before_scan, after_scan;
    std::size_t most_per_scan = std::numeric_limits<std::size_t>::max();  ///< telegrams that a scan takes

    /// The next scan of either end, if it is not after `limit`.
    bool step(proto::Instant limit);
    /// All scans up to `limit`, which is then now().
    void run_until(proto::Instant limit);
    /// Hands over what is due by `limit` to both ends, without a scan.
    void deliver(proto::Instant limit);

    [[nodiscard]] proto::Instant now() const { return now_; }
    void set_now(proto::Instant now) { now_ = now; }
    Way& way_to(proto::End end) { return ways_[static_cast<std::size_t>(end)]; }
    [[nodiscard]] const Way& way_to(proto::End end) const { return ways_[static_cast<std::size_t>(end)]; }

  private:
    [[nodiscard]] Party& party(proto::End end) const { return *parties_[static_cast<std::size_t>(end)]; }
    void scan(proto::End end);

    std::array<Party*, 2> parties_;
    proto::End first_;
    std::array<Way, 2> ways_;
    proto::Instant now_{};
};

/// A real endpoint whose clock shows true time.
class EndpointParty : public TwoEnds::Party {
  public:
    explicit EndpointParty(proto::Endpoint& end) : end_(end) {}
    bool on = true;                                       ///< off, it neither scans nor receives
    std::function<void(proto::Instant now)> application;  ///< writes the output before it is sent; may be empty
    [[nodiscard]] proto::Instant next_scan() const override { return on ? end_.next_deadline() : proto::never; }
    void receive(const Way::InFlight& telegram) override { end_.receive(telegram.bytes, {telegram.token}); }
    void scan(proto::Instant now, const TwoEnds::Send& send) override;

  private:
    proto::Endpoint& end_;
};

}  // namespace tests
