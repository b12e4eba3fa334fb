#include "tools/desk/live_bench.hpp"

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <utility>

#include "sim/desk/usual_fault.hpp"
#include "sim/scenario/errors.hpp"
#include "sim/scenario/units.hpp"
#include "tools/desk/typed_plant.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using proto::Duration;
using proto::Instant;

/// So much plant time at once at most, so that a computer that is too slow falls behind instead of standing still.
constexpr Duration at_once = proto::milliseconds(500);
constexpr Duration hurry_at_once = proto::seconds(2);
/// A run's duration is at most 24 h, and what was done is to fit into one.
constexpr Duration longest = proto::seconds(23 * 3600);
constexpr Duration step_limit = proto::seconds(10), change_limit = proto::seconds(60);
constexpr std::size_t rates_kept = 8;

std::optional<DeskRate> rate_called(const std::string& name) {
    for (const DeskRate rate : {DeskRate::paused, DeskRate::slowest, DeskRate::slow, DeskRate::real})
        if (name_of(rate) == name) return rate;
    return std::nullopt;
}

std::int64_t slower(DeskRate rate) {
    switch (rate) {
        case DeskRate::paused: return 0;
        case DeskRate::slowest: return 200;
        case DeskRate::slow: return 20;
        case DeskRate::real: return 1;
    }
    return 0;
}

std::unique_ptr<sim::DeskBench> bench_of(const TypedPlant& typed, sim::DeskBench::Begin begin) {
    return typed.is_cell() ? std::make_unique<sim::DeskBench>(typed.cell(), typed.seed(), begin)
                           : std::make_unique<sim::DeskBench>(typed.link(0), typed.seed(), begin);
}

}  // namespace

LiveBench::LiveBench(std::shared_ptr<const TypedPlant> typed, sim::DeskBench::Begin begin, Instant wall,
                     std::string hour)
    : typed_(std::move(typed)),
      bench_(bench_of(*typed_, begin)),
      begin_(begin),
      hour_(std::move(hour)),
      wall_from_(wall),
      wall_now_(wall),
      rates_{{Instant{}, wall, DeskRate::real}},
      offers_(fault_offers(*typed_)) {}

Instant LiveBench::plant_at(Instant wall) const {
    const std::int64_t by = slower(rate_);
    if (by == 0 || waits_ || wall < wall_from_) return plant_from_;
    return plant_from_ + Duration{(wall - wall_from_).ns / by};
}

void LiveBench::set_rate(DeskRate rate, Instant wall) {
    plant_from_ = bench_->now();
    wall_from_ = wall;
    rate_ = rate;
    bench_->record_telegrams(rate != DeskRate::real);
    rates_.push_back({plant_from_, wall, rate});
    if (rates_.size() > rates_kept) rates_.erase(rates_.begin());
}

void LiveBench::run_up_to(Instant plant) {
    up_to_ = plant;
    set_rate(DeskRate::paused, wall_now_);
}

void LiveBench::run_on(Instant wall, bool looked_at) {
    wall_now_ = wall;
    if (up_to_) {
        bench_->run_until(std::min(*up_to_, bench_->now() + hurry_at_once));
        if (bench_->now() < *up_to_) return;
        up_to_.reset();
        set_rate(DeskRate::slowest, wall);
        return;
    }
    if (looked_at == waits_) {
        waits_ = false;  // for plant_at() of the last moment
        if (looked_at) wall_from_ = wall;
        plant_from_ = looked_at ? bench_->now() : plant_at(wall);
        waits_ = !looked_at;
        if (looked_at) rates_.push_back({bench_->now(), wall, rate_});
        if (rates_.size() > rates_kept) rates_.erase(rates_.begin());
    }
    const Instant target = plant_at(wall), now = bench_->now();
    if (target <= now) return;
    if (target > now + at_once || now - Instant{} > longest) {
        // too far behind, or as long as a run may be: the rest is not made up for
        const Instant reached = std::min(now + at_once, Instant{} + longest);
        if (reached > now) bench_->run_until(reached);
        set_rate(now - Instant{} > longest ? DeskRate::paused : rate_, wall);
        return;
    }
    bench_->run_until(target);
}

std::optional<std::string> LiveBench::act(const Fields& fields, Instant wall) {
    const std::string what = field(fields, "do");
    if (up_to_) return std::string("it runs up to the moment that was asked for; wait for that");
    run_on(wall, true);
    if (what == "rate") {
        const auto rate = rate_called(field(fields, "rate"));
        if (!rate) return std::string("there is no such speed");
        set_rate(*rate, wall);
        return std::nullopt;
    }
    if (what == "step" || what == "until") {
        set_rate(DeskRate::paused, wall);
        const bool came = what == "step" ? bench_->step(bench_->now() + step_limit)
                                         : bench_->run_to_change(bench_->now() + change_limit);
        set_rate(DeskRate::paused, wall);
        if (came) return std::nullopt;
        return std::string(what == "step" ? "nothing came within 10 s" : "nothing changed its state within 60 s");
    }
    refused_.clear();
    auto refused = act_of_people(what, fields);
    // an act lies a little after now: the clock goes on from there
    plant_from_ = std::max(plant_at(wall), bench_->now());
    wall_from_ = wall;
    rates_.push_back({plant_from_, wall, rate_});
    if (rates_.size() > rates_kept) rates_.erase(rates_.begin());
    if (refused) refused_ = *refused;
    return refused;
}

std::optional<std::string> LiveBench::act_of_people(const std::string& what, const Fields& fields) {
    const std::string link = field(fields, "link");
    const bool on = field(fields, "on") == "1";
    if (what == "guard") return bench_->guard(field(fields, "guard"), on);
    if (what == "acknowledge")
        return link.empty() ? bench_->acknowledge() : bench_->acknowledge(std::string_view(link));
    if (what == "reset") return bench_->reset(field(fields, "guard"));
    if (what == "start") return bench_->start_machine(field(fields, "machine"));
    if (what == "mode") return bench_->select_mode(field(fields, "mode"));
    if (what == "cable") return bench_->cable(link, on);
    if (what == "power") {
        const bool controller = field(fields, "end") == "controller";
        return bench_->power(link, controller ? proto::End::controller : proto::End::device, on);
    }
    if (what == "fault") return put_in(fields);
    if (what == "take-out") return bench_->take_out_faults();
    return "nobody can do " + in_quotes(what) + " at a bench";
}

std::optional<std::string> LiveBench::put_in(const Fields& fields) {
    const std::string wanted = field(fields, "way"), direction = field(fields, "direction"),
                      when = field(fields, "when"), name = field(fields, "link");
    const auto number = typed_->link_called(name);
    if (!number) return "there is no link " + in_quotes(name);
    std::optional<sim::FaultWay> way;
    for (int i = 0; i <= static_cast<int>(sim::FaultWay::misdeliver); ++i)
        if (sim::name_of(static_cast<sim::FaultWay>(i)) == wanted) way = static_cast<sim::FaultWay>(i);
    if (!way) return "there is no fault " + in_quotes(wanted);
    const sim::FaultDirection to = direction == "both"            ? sim::FaultDirection::both
                                   : direction == "to-controller" ? sim::FaultDirection::to_controller
                                                                  : sim::FaultDirection::to_device;
    std::optional<proto::End> end;
    if (direction == "controller") end = proto::End::controller;
    if (direction == "device") end = proto::End::device;
    sim::Fault fault = sim::usual_fault(typed_->link(*number), *way, to, end);
    sim::DeskBench::When begin;
    if (when == "demand") {
        begin.kind = sim::DeskBench::When::Kind::next_demand;
    } else if (!when.empty() && when != "now") {
        const auto after = sim::parse_quantity(when + " s", sim::duration_units());
        if (!after || after.value() < 0 || after.value() > proto::seconds(3600).ns)
            return "write now, demand, or a number of seconds up to 3600, not " + in_quotes(when);
        begin = {sim::DeskBench::When::Kind::after, Duration{after.value()}};
    }
    return bench_->put_in(name, std::move(fault), begin);
}

Value LiveBench::told(bool old) const {
    Value told = bench_told(*bench_, {.typed = *typed_,
                                      .begun_at = hour_,
                                      .old = old,
                                      .as_written = as_written(),
                                      .rate = rate_,
                                      .rates = rates_,
                                      .refused = refused_});
    Value::Object members = *told.object();
    members.push_back({"hurries", hurries()});
    members.push_back({"waits", waits_});
    members.push_back({"offers", offers_});
    return members;
}

}  // namespace tools
