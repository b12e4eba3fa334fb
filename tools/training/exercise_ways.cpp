// The telegrams around the first stop on their way, for the debrief: made, due, and what became of each. All of it was
// seen; what came from elsewhere is told from its arrival on.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "tools/training/exercise_readings.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::Seen;

/// Of plant time, in ms, to the microsecond.
Value ms_of(Instant at) { return static_cast<double>(at.ns / 1000) / 1000.0; }

std::string_view fate_of(proto::Verdict::Kind kind) {
    using Kind = proto::Verdict::Kind;
    switch (kind) {
        case Kind::fresh:
        case Kind::handshake: return "accepted";
        case Kind::repeat: return "repeated";
        case Kind::ignored: return "ignored";
        case Kind::rejected: return "rejected";
    }
    return "ignored";
}

/// 0 to the device, 1 to the controller: of the end at which it was seen.
unsigned way_of(const Seen& seen) {
    return (seen.end == sim::End::controller) == (seen.kind == Seen::Kind::sent) ? 0 : 1;
}

/// Whether that is the arrival of what was sent: due just then, on its way, as the same instance.
bool is_arrival_of(const Seen& sent, const Seen& arrived) {
    return arrived.kind == Seen::Kind::arrived && arrived.end != sent.end && sent.due && arrived.at == *sent.due &&
           arrived.tag.instance == sent.tag.instance;
}

class Ways {
  public:
    void add(const Seen& seen, Instant made, std::optional<Instant> due) {
        Value fate, at, measure;
        const bool arrived = seen.kind == Seen::Kind::arrived;
        if (arrived && seen.verdict && seen.looked_at) {
            fate = Value(fate_of(seen.verdict->kind));
            at = ms_of(*seen.looked_at);
            if (seen.verdict->kind == proto::Verdict::Kind::rejected)
                measure = Value(proto::name_of(seen.verdict->failed.first()));
        } else if (!arrived && seen.lost) {
            fate = Value("lost");
            at = ms_of(*seen.lost);
        }
        facts_.push_back(Value::List{std::uint64_t{facts_.size() + 1}, way_of(seen), Value::of(seen.number),
                                     ms_of(made), due ? ms_of(*due) : Value(), std::move(fate), std::move(at),
                                     std::move(measure)});
    }
    [[nodiscard]] Value::List take() { return std::move(facts_); }

  private:
    Value::List facts_;
};

Value::List facts_of(const std::vector<Seen>& all) {
    std::vector<bool> told(all.size());
    Ways ways;
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (told[i]) continue;
        const Seen& seen = all[i];
        if (seen.kind == Seen::Kind::arrived) {
            // made before the record begins, or elsewhere
            ways.add(seen, seen.at, seen.at);
            continue;
        }
        const auto later = std::find_if(all.begin() + static_cast<std::ptrdiff_t>(i), all.end(),
                                        [&](const Seen& one) { return is_arrival_of(seen, one); });
        if (later == all.end()) {
            ways.add(seen, seen.at, seen.due);
            continue;
        }
        told[static_cast<std::size_t>(later - all.begin())] = true;
        ways.add(*later, seen.at, seen.due);
    }
    return ways.take();
}

}  // namespace

Value ways_told(const sim::Bench& link) {
    const std::vector<Seen>& all = link.recorder().around_first_stop();
    const auto first = [&] {
        std::optional<Instant> stop;
        for (const sim::End end : {sim::End::controller, sim::End::device})
            if (const auto at = link.first_stop(end); at && (!stop || *at < *stop)) stop = at;
        return stop;
    }();
    if (all.empty() || !first) return {};
    Value::Object told{{"controller", link.scenario().controller.name},
                       {"device", link.scenario().device.name},
                       {"watchdog_ms", link.scenario().device.link.watchdog},
                       {"stop_ms", ms_of(*first)},
                       {"from_ms", ms_of(all.front().at)},
                       {"to_ms", ms_of(all.back().at)},
                       {"facts", facts_of(all)}};
    if (!link.link_name().empty()) told.push_back({"link", link.link_name()});
    return told;
}

}  // namespace tools
