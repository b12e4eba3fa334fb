#include "sim/drive/trial_draw.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "proto/profile.hpp"
#include "proto/telegram.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/way_of_demand.hpp"

namespace sim {
namespace {

constexpr unsigned back_most = 16;
constexpr unsigned times_most = 8;
constexpr unsigned every_most = 4;
constexpr std::int64_t start_cycles = 8;  ///< a handshake takes about four
constexpr std::int64_t cycles_before = 3;
constexpr std::int64_t phase_cycles = 8;  ///< more than one: exchanges that take several have phases of their own
constexpr std::int64_t creeping_cycles_least = 8, creeping_cycles_most = 32;
constexpr std::int64_t microsecond = 1000;

constexpr std::array all_ways{
    FaultWay::flip_bits, FaultWay::random_bits, FaultWay::burst,         FaultWay::bit_rate,       FaultWay::truncate,
    FaultWay::beside,    FaultWay::instead,     FaultWay::current_again, FaultWay::old_parameters, FaultWay::hold,
    FaultWay::drop,      FaultWay::step,        FaultWay::creeping,      FaultWay::neighbour,      FaultWay::stray,
    FaultWay::no_crc,    FaultWay::other_crc,   FaultWay::all_zero,      FaultWay::swap,           FaultWay::loop_back};

bool needs_neighbour(FaultWay way) { return way == FaultWay::neighbour || way == FaultWay::swap; }

}  // namespace

std::vector<Fault> every_error(const Scenario& scenario) {
    std::vector<Fault> faults;
    for (const FaultWay way : all_ways) {
        if (needs_neighbour(way) && !scenario.neighbour) continue;
        if (!faults.empty() && faults.back().error == error_of(way)) continue;
        Fault& fault = faults.emplace_back();
        fault.error = error_of(way);
        fault.way = way;
        fault.at = Duration{};
    }
    return faults;
}

/// The trial's draws, one after the other.
class TrialDraw::Draws {
  public:
    Draws(std::uint64_t seed, std::uint64_t number) : random_(seed, Concern::trial, number) {}
    std::uint64_t below(std::uint64_t count) { return random_.below(drawn_++, count); }
    /// 1..most.
    unsigned up_to(unsigned most) { return 1 + static_cast<unsigned>(below(most)); }
    bool one_in(std::uint64_t count) { return below(count) == 0; }
    /// Whole microseconds, from `from` (included) to `to` (not included; requires a microsecond between them).
    Duration between(Duration from, Duration to) {
        const auto steps = static_cast<std::uint64_t>((to - from).ns / microsecond);
        return from + Duration{static_cast<std::int64_t>(below(std::max<std::uint64_t>(steps, 1))) * microsecond};
    }
    /// Whole microseconds, 1 to `most`.
    Duration span(Duration most) { return Duration{microsecond} + between({}, std::max(most, Duration{microsecond})); }

  private:
    Random random_;
    std::uint64_t drawn_ = 0;
};

namespace {

bool concerns(const Scenario& scenario, const std::string& safeguard) {
    return !longest_way(scenario, safeguard).empty() ||
           std::any_of(scenario.functions.begin(), scenario.functions.end(),
                       [&](const SafetyFunction& function) { return names(function, safeguard); });
}

}  // namespace

TrialDraw::TrialDraw(const Scenario& scenario, std::optional<OneOfSeveral> one_of)
    : scenario_(scenario),
      cycle_(std::max(scenario.controller.link.cycle, scenario.device.link.scan)),
      watchdog_(std::max(scenario.controller.link.watchdog, scenario.device.link.watchdog)),
      demand_before_(one_of ? one_of->demand_before : cycle_ * cycles_before) {
    proto::require(one_of || !scenario.faults.empty(), "a campaign without faults");
    for (const Fault& fault : scenario.faults) ways_.push_back(ways_of(fault));
    // of a link of a cell only what concerns its machine: the others are judged with theirs
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i)
        if (one_of || scenario.segment == 0 || concerns(scenario, scenario.safeguards[i].name)) guards_.push_back(i);
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const auto way = static_cast<std::size_t>(direction);
        const proto::LinkSettings& link = scenario.end(sender(direction)).link;
        const auto layout = proto::layout_of(link.profile, link.payload_sent);
        proto::require(layout.ok(), "a campaign with an impossible profile");
        const proto::FieldPlaces places = proto::places_of(link.profile, link.payload_sent);
        bytes_[way] = layout.value().total_bytes;
        bits_[way] = {bytes_[way] * 8,    places.status.bits,  places.source.bits + places.destination.bits,
                      places.number.bits, places.payload.bits, places.crc.bits};
    }
    crc_bits_ = std::max(scenario.controller.link.profile.crc ? scenario.controller.link.profile.crc->width : 0, 8U);
}

std::vector<FaultWay> TrialDraw::ways_of(const Fault& fault) const {
    if (fault.at_end) return {fault.way};
    std::vector<FaultWay> found;
    for (const FaultWay way : all_ways)
        if (error_of(way) == fault.error && (scenario_.neighbour || !needs_neighbour(way))) found.push_back(way);
    return found;
}

TrialPlan TrialDraw::draw(std::uint64_t seed, std::uint64_t number, Scenario& trial,
                          std::optional<std::size_t> which) const {
    proto::require(!scenario_.faults.empty(), "a trial without a fault to draw after");
    Draws draws(seed, number);
    TrialPlan plan;
    plan.fault = draws.below(scenario_.faults.size());
    if (which) plan.fault = *which;
    const Fault& like = scenario_.faults[plan.fault];
    Fault& fault = trial.faults.front();
    fault = Fault{};
    fault.error = like.error;
    const std::vector<FaultWay>& ways = ways_[plan.fault];
    fault.way = draws.one_in(2) ? like.way : ways[draws.below(ways.size())];
    if (like.at_end) {
        draw_failing_end(draws, like, fault);
    } else {
        draw_place(draws, like, fault);
        draw_extent(draws, fault);
        draw_what(draws, like, fault, plan);
    }
    plan.acts_for = longest_extent(fault);
    if (draws.one_in(16)) {
        plan.phase = TrialPhase::starting;
        plan.lead = draws.between({}, cycle_ * start_cycles);
    } else {
        plan.lead = cycle_ * cycles_before + draws.between({}, cycle_ * phase_cycles);
    }
    draw_demand(draws, plan, trial);
    draw_load_of(draws, scenario_.to_device, trial.to_device);
    draw_load_of(draws, scenario_.to_controller, trial.to_controller);
    return plan;
}

void TrialDraw::draw_load(std::uint64_t seed, std::uint64_t number, Scenario& trial) const {
    Draws draws(seed, number);
    draw_load_of(draws, scenario_.to_device, trial.to_device);
    draw_load_of(draws, scenario_.to_controller, trial.to_controller);
}

void TrialDraw::draw_place(Draws& draws, const Fault& like, Fault& fault) {
    const std::uint64_t place = draws.below(6);
    fault.to_device = place < 3 ? like.to_device : place != 4;
    fault.to_controller = place < 3 ? like.to_controller : place != 3;
    // the offer of the parameters goes out only
    if (fault.way == FaultWay::old_parameters) {
        fault.to_device = true;
        fault.to_controller = false;
    }
}

void TrialDraw::draw_extent(Draws& draws, Fault& fault) const {
    const bool period = fault.way == FaultWay::creeping || fault.way == FaultWay::step;
    const std::uint64_t extent = draws.below(4);
    if (period || extent == 0) {
        fault.lasting = fault.way == FaultWay::creeping
                            ? draws.between(cycle_ * creeping_cycles_least, cycle_ * creeping_cycles_most)
                            : draws.span(watchdog_ * 4);
        if (fault.way == FaultWay::creeping) return;
    } else if (extent == 1) {
        fault.times = draws.up_to(times_most);
    }
    if (draws.one_in(8)) fault.every = draws.up_to(every_most);
}

void TrialDraw::draw_bits(Draws& draws, Fault& fault) const {
    const auto least = [&](std::size_t field) {
        unsigned bits = ~0U;
        if (fault.to_device) bits = std::min(bits, bits_[0][field]);
        if (fault.to_controller) bits = std::min(bits, bits_[1][field]);
        return bits;
    };
    std::size_t field = 0;
    if (fault.way != FaultWay::flip_bits && draws.one_in(2)) field = draws.below(field_count);
    if (least(field) == 0) field = 0;
    fault.field = static_cast<TelegramField>(field);
    const unsigned bits = least(field);
    switch (fault.way) {
        case FaultWay::random_bits: fault.count = draws.up_to(std::min(bits, draws.one_in(2) ? 8U : bits)); break;
        case FaultWay::burst: fault.length = draws.up_to(std::min(bits, 2 * crc_bits_)); break;
        // 2^-1 to 2^-8 for each bit: exact
        case FaultWay::bit_rate: fault.rate = 1.0 / static_cast<double>(1U << draws.up_to(8)); break;
        default: {  // flip_bits: the same places in each telegram touched
            for (unsigned left = draws.up_to(8); left > 0; --left) {
                const auto bit = static_cast<unsigned>(draws.below(bits));
                if (std::find(fault.bits.begin(), fault.bits.end(), bit) == fault.bits.end()) fault.bits.push_back(bit);
            }
        }
    }
}

void TrialDraw::draw_what(Draws& draws, const Fault& like, Fault& fault, TrialPlan& plan) const {
    switch (fault.way) {
        case FaultWay::flip_bits:
        case FaultWay::random_bits:
        case FaultWay::burst:
        case FaultWay::bit_rate: draw_bits(draws, fault); break;
        case FaultWay::truncate:
            fault.count =
                draws.up_to(std::min(fault.to_device ? bytes_[0] : ~0U, fault.to_controller ? bytes_[1] : ~0U));
            break;
        case FaultWay::beside:
        case FaultWay::instead:
            fault.back = draws.up_to(std::clamp(like.back, 2U, back_most));
            plan.exchanges = fault.back + 1;
            break;
        case FaultWay::hold: plan.latency = fault.hold = draws.span(std::max(watchdog_ * 2, like.hold)); break;
        case FaultWay::step:
            plan.latency = fault.extra =
                draws.span(std::max(watchdog_ * 2, like.way == FaultWay::step ? like.extra : Duration{}));
            fault.keep_order = like.keep_order;
            break;
        case FaultWay::creeping: {
            plan.latency = draws.span(watchdog_ * 3);
            // so much more in every second that it has grown to that by the end
            const auto wide = static_cast<Wide>(plan.latency.ns) * 1'000'000'000U;
            fault.extra = {static_cast<std::int64_t>(wide / static_cast<Wide>(fault.lasting->ns))};
            fault.keep_order = like.keep_order;
            break;
        }
        default: break;
    }
}

void TrialDraw::draw_failing_end(Draws& draws, const Fault& like, Fault& fault) {
    fault.at_end = like.at_end;
    fault.to_device = like.to_device;
    fault.to_controller = like.to_controller;
    if (like.lasting) fault.lasting = draws.span(*like.lasting);
    if (like.way != FaultWay::clock_drift) return;
    const auto most = static_cast<std::uint64_t>(like.drift_ppm < 0 ? -like.drift_ppm : like.drift_ppm);
    const auto ppm = static_cast<std::int64_t>(1 + draws.below(most));
    fault.drift_ppm = like.drift_ppm < 0 ? -ppm : ppm;
}

Duration TrialDraw::longest_extent(const Fault& fault) const {
    const Duration lasts_on = watchdog_ * 8;  // of what has no end
    if (fault.at_end) return fault.lasting ? std::min(*fault.lasting, std::max(lasts_on, cycle_ * 64)) : lasts_on;
    if (fault.lasting) return *fault.lasting;
    return cycle_ * static_cast<std::int64_t>(fault.times.value_or(1) * fault.every + 1);
}

void TrialDraw::draw_demand(Draws& draws, TrialPlan& plan, Scenario& trial) const {
    const bool wanted = draws.one_in(2);
    plan.demand = wanted && !guards_.empty();
    if (!plan.demand) {
        trial.demands.clear();
        return;
    }
    plan.safeguard = guards_[draws.below(guards_.size())];
    const Safeguard& guard = scenario_.safeguards[plan.safeguard];
    plan.contact = draws.between(Duration{} - demand_before_, plan.acts_for + plan.latency + watchdog_);
    trial.demands.resize(1);
    Demand& demand = trial.demands.front();
    demand.safeguard = guard.name;
    demand.lasting = draws.one_in(2) ? Duration{} : draws.span(watchdog_ * 2);
    const std::uint64_t contacts = guard.channels == 2 ? draws.below(8) : 7;
    demand.channel = contacts == 0 ? DemandChannel::a : contacts == 1 ? DemandChannel::b : DemandChannel::both;
}

void TrialDraw::draw_load_of(Draws& draws, const ChannelSettings& from, ChannelSettings& to) {
    if (!from.queue) return;
    // sixteenths of the way from the one load to the other: exact enough, and the same everywhere
    const double share = static_cast<double>(draws.below(17)) / 16.0;
    to.queue->load = to.queue->ramp_to = std::max(from.queue->load, from.queue->ramp_to) * share;
}

}  // namespace sim
