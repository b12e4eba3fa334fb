#include "tests/support/slow_chain.hpp"

#include <algorithm>
#include <vector>

#include "tests/support/model_endpoint.hpp"

namespace tests {
namespace {

using model::Meaning;
using proto::Duration;
using proto::End;
using proto::Instant;

struct OnTheWay {
    Instant due;
    Meaning telegram;
};

/// One direction between two ends.
struct SlowWay {
    Duration delay{};
    Instant last_due{};
    std::vector<OnTheWay> telegrams{};

    void send(const Meaning& telegram, Instant now, const Episode& episode) {
        if (episode.on && now >= Instant{} + episode.silence) return;
        Instant due = now + delay;
        if (episode.on && now >= Instant{} + episode.begin) due = due + episode.extra;
        due = std::max(due, last_due);
        last_due = due;
        telegrams.push_back({due, telegram});
    }
    void arrive(Instant now, model::Endpoint& end) {
        while (!telegrams.empty() && telegrams.front().due <= now) {
            end.receive(telegrams.front().telegram);
            telegrams.erase(telegrams.begin());
        }
    }
};

model::Settings settings_of(const LinkOfChain& link, End end) {
    model::Settings settings;
    settings.end = end;
    settings.exchange = link.exchange;
    settings.numbers = 65'536;
    settings.watchdog = end == End::controller ? link.controller_watchdog : link.device_watchdog;
    settings.reaction = proto::Reaction::trip;
    settings.error_interval = proto::seconds(360);
    return settings;
}

class SlowLink {
  public:
    SlowLink(const LinkOfChain& link, const Episode& episode)
        : link_(link),
          episode_(episode),
          controller(settings_of(link, End::controller)),
          device(settings_of(link, End::device)) {
        out_.delay = back_.delay = link.delay_low;
        device_scan = Instant{} + link.phase;
        controller.start();
        device.start();
    }
    void controller_takes(Instant now) {
        out_of(back_, controller, now);
        controller_scan = controller_scan + link_.cycle;
    }
    void controller_gives(std::uint64_t value, Instant now) { give(controller, value, now, out_); }
    void device_takes(Instant now) {
        out_of(out_, device, now);
        device_scan = device_scan + link_.device_scan;
    }
    void device_gives(std::uint64_t value, Instant now) { give(device, value, now, back_); }

  private:
    const LinkOfChain& link_;
    const Episode& episode_;
    SlowWay out_, back_;
    std::uint64_t draws_ = 0;

    static void out_of(SlowWay& way, model::Endpoint& end, Instant now) {
        way.arrive(now, end);
        end.scan(now);
    }
    void give(model::Endpoint& end, std::uint64_t value, Instant now, SlowWay& way) {
        if (end.draws()) {
            ++draws_;
            end.drew({0x1000 + draws_, static_cast<std::uint32_t>(100 * draws_)});
        }
        for (const Meaning& telegram : end.send(value)) way.send(telegram, now, episode_);
    }

  public:
    model::Endpoint controller, device;
    Instant controller_scan{}, device_scan{};
};

/// For how long a 0 is held for the second link: polled until a telegram has it, in a stream so long after.
Duration hold_in_stream(const LinkOfChain& link) {
    if (link.exchange == proto::Exchange::polled) return {};
    return std::max({link.controller_watchdog + link.cycle, link.cycle * 2, link.device_watchdog + link.cycle});
}

/// The controller's word to the second link: what the first one brings, but a 0 until a telegram has carried it.
class Passing {
  public:
    explicit Passing(Duration hold) : hold_(hold) {}
    void see(std::uint64_t brought) {
        if (brought == 0 && !carried_) {
            if (!waits_) since_ = proto::never;
            waits_ = true;
        }
        if (brought != 0) carried_ = false;
        brought_ = brought;
    }
    [[nodiscard]] std::uint64_t value() const { return waits_ ? 0 : brought_; }
    void made_a_telegram(Instant now) {
        if (!waits_) return;
        if (since_ == proto::never) since_ = now;
        if (now < since_ + hold_) return;
        waits_ = false;
        carried_ = true;
        since_ = proto::never;
    }

  private:
    Duration hold_;
    std::uint64_t brought_ = 0;
    bool waits_ = false, carried_ = false;
    Instant since_ = proto::never;
};

}  // namespace

std::optional<Duration> slow_chain(const LinkOfChain& first, const LinkOfChain& second,
                                   const std::array<Episode, 2>& episodes, const ChainDemand& demand, Duration end) {
    SlowLink a(first, episodes[0]), b(second, episodes[1]);
    Passing passing(hold_in_stream(second));
    const Instant contact = Instant{} + demand.at;
    for (;;) {
        const Instant now = std::min({a.device_scan, b.device_scan, a.controller_scan, b.controller_scan});
        if (now >= Instant{} + end) return std::nullopt;
        const bool free = now < contact || now >= contact + demand.lasting;
        // the devices before the controller
        if (a.device_scan == now) {
            a.device_takes(now);
            a.device_gives(free ? 1 : 0, now);
        }
        if (b.device_scan == now) {
            b.device_takes(now);
            if (now >= contact && b.device.in_use() == 0) return now - contact;
            b.device_gives(0, now);
        }
        const bool a_due = a.controller_scan == now, b_due = b.controller_scan == now;
        if (!a_due && !b_due) continue;
        if (a_due) a.controller_takes(now);
        if (b_due) b.controller_takes(now);
        passing.see(a.controller.in_use());
        if (a_due) a.controller_gives(0, now);
        if (!b_due) continue;
        const std::uint32_t number = b.controller.number_out();
        b.controller_gives(passing.value(), now);
        if (b.controller.connected() && b.controller.number_out() != number) passing.made_a_telegram(now);
    }
}

}  // namespace tests
