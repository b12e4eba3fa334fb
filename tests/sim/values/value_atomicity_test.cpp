// The values and bits of one telegram are of one scan: whatever the channel does, what is in use is what some one
// telegram meant, never a mixture of two.
#include <doctest/doctest.h>

#include <string>
#include <tuple>
#include <vector>

#include "sim/cell/cell_body.hpp"
#include "sim/numeric/random.hpp"
#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::Direction;
using sim::FaultWay;
using sim::Scenario;
using sim::ValueOrder;
using sim::ValueType;

/// Hears what each telegram to the device meant, and looks for what is in use among them.
class Mixtures {
  public:
    using hears = std::tuple<sim::ValuesMeant, sim::Produced, sim::InUse, sim::ValuesInUse>;
    void hear(const sim::ValuesMeant& meant) {
        if (meant.way == Direction::to_device) now_ = meant.values;
    }
    void hear(const sim::Produced& produced) {
        if (produced.way == Direction::to_device) made_.push_back({produced.signals, now_});
    }
    void hear(const sim::InUse& in_use) {
        if (in_use.end == End::device) signals_ = in_use.signals;
    }
    void hear(const sim::ValuesInUse& in_use) {
        if (in_use.end != End::device) return;
        ++looked;
        if (in_use.values.is_substitute(0)) {
            // of a stopped link, or of a telegram of zeros: then all of it is
            if (in_use.values.substitute != all_substitutes || signals_ != 0) ++mixed;
            return;
        }
        ++values;
        bool found = false;
        for (std::size_t i = made_.size(); i-- > 0 && !found;)
            found = made_[i].signals == signals_ && made_[i].values.is == in_use.values.is;
        if (!found) ++mixed;
    }
    unsigned looked = 0, values = 0, mixed = 0;

  private:
    static constexpr std::uint32_t all_substitutes = 7;
    struct Made {
        std::uint64_t signals = 0;
        sim::ValueWord values;
    };
    sim::ValueWord now_;
    std::uint64_t signals_ = 0;
    std::vector<Made> made_;
};

/// Three values that change together every 5 ms, in bytes that lie apart, and a bit that a rope pull takes away.
Scenario changing(bool streaming) {
    Scenario s = streaming ? tests::streaming_link() : tests::polled_link();
    s.duration = seconds(2);
    const auto typed = [](ValueType type, unsigned at, ValueOrder order) {
        return sim::TypedValue{type, at, order, 1'000'000, {}};
    };
    const std::pair<std::int64_t, sim::TypedValue> each[] = {
        {65'537, typed(ValueType::u32, 1, ValueOrder::word_swapped)},
        {1, typed(ValueType::u16, 5, ValueOrder::low_first)},
        {-1, typed(ValueType::u8, 7, ValueOrder::high_first)}};
    for (std::size_t i = 0; i < std::size(each); ++i) {
        sim::SafeValue value;
        value.name = "value_" + std::to_string(i);
        value.high = sim::highest_count(each[i].second.type) * 1'000'000;
        value.source.kind = sim::ValueSource::Kind::over_time;
        for (std::int64_t n = 0; n < 400; ++n) {
            const std::int64_t count = i == 2 ? 1 + (251 - n % 251) : (n + 1) * each[i].first;
            value.source.steps.push_back({milliseconds(5 * n), count * 1'000'000});
        }
        tests::add_value(s, value, each[i].second);
    }
    for (std::int64_t n = 0; n < 4; ++n)
        s.demands.push_back(tests::demand_of("rope_pull", milliseconds(300 + 400 * n)));
    return s;
}

void check_never_mixed(const Scenario& s, std::uint64_t seed) {
    CAPTURE(seed);
    Mixtures mixtures;
    sim::Cell<sim::Heard<Mixtures>> cell(s, seed, sim::Faults::all, {{mixtures}});
    cell.run_until(Instant{} + s.duration);
    CHECK(mixtures.looked > 20);
    CHECK(mixtures.values > 10);
    CHECK(mixtures.mixed == 0);
}

TEST_CASE("what is in use is of one telegram, whatever the channel does with telegrams") {
    const FaultWay ways[] = {FaultWay::flip_bits,     FaultWay::random_bits, FaultWay::burst,   FaultWay::truncate,
                             FaultWay::beside,        FaultWay::instead,     FaultWay::hold,    FaultWay::drop,
                             FaultWay::current_again, FaultWay::step,        FaultWay::all_zero};
    for (const bool streaming : {false, true})
        for (const FaultWay way : ways) {
            CAPTURE(name_of(way));
            Scenario s = changing(streaming);
            // a rejected telegram is passed over, so that the exchange goes on beside what is wrong
            tests::both_ends(s, [](proto::LinkSettings& link) {
                link.reaction = proto::Reaction::discard;
                link.error_interval = {};
                if (link.exchange == proto::Exchange::streaming) link.missing_allowed = 2;
            });
            sim::Fault fault = tests::times(tests::fault_of(way, milliseconds(400)), 60);
            fault.every = 3;
            fault.bits = {77};
            fault.count = 3;
            fault.length = 9;
            fault.hold = milliseconds(12);
            fault.extra = milliseconds(12);
            fault.keep_order = false;
            s.faults = {fault};
            for (std::uint64_t seed = 1; seed <= 3; ++seed) check_never_mixed(s, seed);
        }
}

TEST_CASE("what is in use is of one telegram on a channel that loses, bends and overtakes by itself") {
    for (const bool streaming : {false, true}) {
        Scenario s = changing(streaming);
        tests::both_ends(s, [](proto::LinkSettings& link) {
            link.reaction = proto::Reaction::discard;
            link.error_interval = {};
            if (link.exchange == proto::Exchange::streaming) link.missing_allowed = 3;
        });
        tests::set_watchdogs(s, milliseconds(200), milliseconds(200));
        s.to_device.loss = 0.05;
        s.to_device.bit_error_rate = 1e-3;
        s.to_device.keep_order = false;
        s.to_device.delay = {sim::DelayShape::Kind::uniform, milliseconds(1), milliseconds(25), {}};
        for (std::uint64_t seed = 1; seed <= 20; ++seed) check_never_mixed(s, seed);
    }
}

TEST_CASE("the telegrams of one scan differ from those of the next in every byte that is looked at") {
    // else the tests above could not see a mixture
    const Scenario s = changing(false);
    for (std::size_t value = 0; value < 3; ++value) {
        const auto& steps = s.values.all[value].source.steps;
        for (std::size_t n = 1; n < steps.size(); ++n) CHECK(steps[n].is != steps[n - 1].is);
    }
}

}  // namespace
