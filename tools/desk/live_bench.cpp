#include "tools/desk/live_bench.hpp"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cstdlib>
#include <utility>

#include "sim/desk/usual_fault.hpp"
#include "sim/scenario/errors.hpp"
#include "sim/scenario/units.hpp"
#include "tools/desk/bench_mends.hpp"
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

std::optional<std::int64_t> whole_number(const std::string& typed) {
    std::int64_t number = 0;
    const auto [end, failed] = std::from_chars(typed.data(), typed.data() + typed.size(), number);
    if (typed.empty() || failed != std::errc{} || end != typed.data() + typed.size()) return std::nullopt;
    return number;
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

DeskAnswer LiveBench::move_time(const std::string& what, const Fields& fields, Instant wall) {
    if (what == "rate") {
        const auto rate = rate_called(field(fields, "rate"));
        if (!rate) return refuse(Refused::foreign_page, "there is no such speed", {load_again()});
        set_rate(*rate, wall);
        return {};
    }
    if (what == "to") {
        // past what was waited for, and on as before
        const Instant now = bench_->now();
        const auto to = whole_number(field(fields, "ns"));
        if (!to || Instant{*to} > now + change_limit)
            return refuse(Refused::foreign_page, "it is not said up to when time is to run", {load_again()});
        if (Instant{*to} >= now) bench_->run_until(Instant{*to} + Duration{1});
        set_rate(rate_, wall);
        return {};
    }
    set_rate(DeskRate::paused, wall);
    const bool step = what == "step";
    const bool came =
        step ? bench_->step(bench_->now() + step_limit) : bench_->run_to_change(bench_->now() + change_limit);
    set_rate(DeskRate::paused, wall);
    if (came) return {};
    return refuse(Refused::nothing_came, step ? "nothing came within 10 s" : "nothing changed its state within 60 s",
                  {posting(step ? "Look on for 10 s more" : "Look on for 60 s more", "/api/bench", {{"do", what}})});
}

DeskAnswer LiveBench::act(const Fields& fields, Instant wall) {
    const std::string what = field(fields, "do");
    if (up_to_)
        return refuse(Refused::bench_hurries, "it runs up to the moment that was asked for; wait for that",
                      {posting("Start anew by hand instead", "/api/bench", {{"do", "begin"}})});
    run_on(wall, true);
    for (const char* const of_time : {"rate", "step", "until", "to"})
        if (what == of_time) return move_time(what, fields, wall);
    refused_.clear();
    DeskAnswer answer = act_of_people(what, fields);
    // an act lies a little after now: the clock goes on from there
    plant_from_ = std::max(plant_at(wall), bench_->now());
    wall_from_ = wall;
    rates_.push_back({plant_from_, wall, rate_});
    if (rates_.size() > rates_kept) rates_.erase(rates_.begin());
    if (answer.refused) refused_ = answer.refused->words;
    return answer;
}

DeskAnswer LiveBench::answered(const sim::DeskRefusal& refusal, const Fields& fields) const {
    if (!refusal) return {};
    return refuse_at_bench(*refusal,
                           {.shown = bench_->shown(), .typed = *typed_, .as_written = as_written(), .asked = fields});
}

bool LiveBench::is_on_its_way(std::uint64_t telegram) const {
    const auto all = bench_->telegrams();
    return std::any_of(all.begin(), all.end(), [&](const sim::DeskTelegram& one) {
        return one.id == telegram && (one.fate == sim::DeskFate::on_the_way || one.fate == sim::DeskFate::waits);
    });
}

DeskAnswer LiveBench::act_of_people(const std::string& what, const Fields& fields) {
    const std::string link = field(fields, "link");
    const bool on = field(fields, "on") == "1";
    if (what == "guard") return answered(bench_->guard(field(fields, "guard"), on), fields);
    if (what == "acknowledge")
        return answered(link.empty() ? bench_->acknowledge() : bench_->acknowledge(std::string_view(link)), fields);
    if (what == "reset") return answered(bench_->reset(field(fields, "guard")), fields);
    if (what == "start") return answered(bench_->start_machine(field(fields, "machine")), fields);
    if (what == "stop") return answered(bench_->emergency_stop(field(fields, "machine"), on), fields);
    if (what == "mode") return answered(bench_->select_mode(field(fields, "mode")), fields);
    if (what == "cable") return answered(bench_->cable(link, on), fields);
    if (what == "power") {
        const bool controller = field(fields, "end") == "controller";
        return answered(bench_->power(link, controller ? proto::End::controller : proto::End::device, on), fields);
    }
    if (what == "fault") return put_in(fields);
    if (what == "take-out") return take_out(fields);
    return refuse(Refused::foreign_page, "nobody can do " + in_quotes(what) + " at a bench", {load_again()});
}

DeskAnswer LiveBench::take_out(const Fields& fields) {
    const sim::DeskRefusal refusal = bench_->take_out_faults();
    const auto shown = bench_->shown();
    const bool of_file = std::any_of(shown.links.begin(), shown.links.end(), [](const sim::DeskLink& link) {
        return std::any_of(link.faults.begin(), link.faults.end(), [](const auto& fault) { return !fault.over; });
    });
    if (!refusal || !as_written() || !of_file) return answered(refusal, fields);
    return refuse(Refused::plays_the_file, "what is in are faults of the file: this bench plays them",
                  {posting("Start anew by hand", "/api/bench", {{"do", "begin"}})});
}

DeskAnswer LiveBench::put_in(const Fields& fields) {
    const std::string wanted = field(fields, "way"), direction = field(fields, "direction"),
                      when = field(fields, "when"), name = field(fields, "link");
    const auto number = typed_->link_called(name);
    if (!number) return refuse(Refused::foreign_page, "there is no link " + in_quotes(name), {load_again()});
    std::optional<sim::FaultWay> way;
    for (int i = 0; i <= static_cast<int>(sim::FaultWay::misdeliver); ++i)
        if (sim::name_of(static_cast<sim::FaultWay>(i)) == wanted) way = static_cast<sim::FaultWay>(i);
    if (!way) return refuse(Refused::foreign_page, "there is no fault " + in_quotes(wanted), {load_again()});
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
            return refuse(Refused::when_unfit,
                          "write now, demand, or a number of seconds up to 3600, not " + in_quotes(when),
                          {again("Put it in now", "/api/bench", fields, {{"when", "now"}})});
        begin = {sim::DeskBench::When::Kind::after, Duration{after.value()}};
    }
    return answered(bench_->put_in(name, std::move(fault), begin), fields);
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
