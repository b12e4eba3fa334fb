#include "tests/support/bench.hpp"

#include <algorithm>
#include <array>

#include "proto/bytes.hpp"

namespace tests {
namespace {

using proto::Duration;
using proto::End;
using proto::Endpoint;
using proto::Instant;

Endpoint made(const proto::LinkSettings& settings, proto::EventSink& sink) {
    auto endpoint = Endpoint::make(settings, sink);
    proto::require(endpoint.ok(), "a bench got settings that no endpoint takes");
    return std::move(endpoint).value();
}

}  // namespace

void Recorder::concluded(proto::Token token, const proto::Verdict& verdict, Instant now) {
    verdicts.push_back({token, verdict, now});
}
void Recorder::changed(const proto::Transition& transition, Instant now) { changes.push_back({transition, now}); }
void Recorder::acknowledged(bool counted, Instant /*now*/) { acknowledgements.push_back(counted); }
void Recorder::refused(proto::Refusal refusal, const proto::LinkParameters& /*theirs*/, Instant /*now*/) {
    refusals.push_back(refusal);
}

unsigned Recorder::count(proto::Verdict::Kind kind) const {
    return static_cast<unsigned>(
        std::count_if(verdicts.begin(), verdicts.end(), [kind](const Concluded& c) { return c.verdict.kind == kind; }));
}

std::optional<proto::Verdict> Recorder::about(std::uint64_t token) const {
    for (const Concluded& c : verdicts)
        if (c.token.value == token) return c.verdict;
    return std::nullopt;
}

std::optional<proto::Verdict> Recorder::last_rejection() const {
    for (auto c = verdicts.rbegin(); c != verdicts.rend(); ++c)
        if (c->verdict.kind == proto::Verdict::Kind::rejected) return c->verdict;
    return std::nullopt;
}

std::optional<Recorder::Changed> Recorder::last_change(proto::State to) const {
    for (auto c = changes.rbegin(); c != changes.rend(); ++c)
        if (c->transition.to == to) return *c;
    return std::nullopt;
}

void Recorder::clear() {
    verdicts.clear();
    changes.clear();
    acknowledgements.clear();
    refusals.clear();
}

Bench::Bench(const Pair& settings)
    : controller(made(settings.controller, at_controller)), device(made(settings.device, at_device)) {
    application = [this](End end) {
        const auto out = at(end).output();
        if (out.size() >= 8) proto::store_be64(out.data(), static_cast<std::uint64_t>(now_.ns) + 1);
    };
}

void Bench::start(End end, Duration phase) {
    ++starts_;
    way_to(end).clear();
    powered(end) = true;
    at(end).start(now_, phase, 0x5EED0000 + starts_);
}

void Bench::stop(End end) { powered(end) = false; }

void Bench::start_both() {
    start(End::controller);
    start(End::device, proto::milliseconds(3));
}

void Bench::bring_up() {
    start_both();
    proto::require(run_until([this] { return both_running(); }), "the link on the bench does not come up");
}

void Bench::put(End to, OnTheWay telegram) {
    auto& way = way_to(to);
    const auto place = std::upper_bound(way.begin(), way.end(), telegram.due,
                                        [](Instant due, const OnTheWay& other) { return due < other.due; });
    way.insert(place, std::move(telegram));
}

void Bench::inject(End to, const Bytes& bytes, Duration delay, std::uint64_t token) {
    put(to, {now_ + delay, token, bytes});
}

void Bench::scan(End end) {
    if (before_scan) before_scan(end);
    auto& way = way_to(end);
    while (!way.empty() && way.front().due <= now_) {
        at(end).receive(way.front().bytes, {way.front().token});
        way.erase(way.begin());
    }
    at(end).on_deadline(now_);
    if (application) application(end);
    std::array<std::uint8_t, proto::telegram_bytes_max> out{};
    for (;;) {
        const Sent what{at(end).poll_transmit(now_, out), at(end).counters().number_sent};
        if (what.kind == proto::Transmission::Kind::none) break;
        std::uint64_t& ordinal = end == End::controller ? sent_by_controller_ : sent_by_device_;
        Telegram telegram{end, what, now_, ++ordinal, Bytes(out.begin(), out.begin() + what.bytes), {}};
        telegram.arrivals.push_back({usual_delay, telegram.bytes});
        if (keep_log) log.push_back(telegram);
        if (channel) channel(telegram);
        for (const Telegram::Arrival& arrival : telegram.arrivals)
            if (powered(proto::other(end)))
                put(proto::other(end), {now_ + arrival.delay, telegram.ordinal, arrival.bytes});
    }
    if (after_scan) after_scan(end);
}

bool Bench::step(Instant limit) {
    const Instant c = controller_on_ ? controller.next_deadline() : proto::never;
    const Instant d = device_on_ ? device.next_deadline() : proto::never;
    const Instant next = std::min(c, d);
    if (next > limit) return false;
    now_ = std::max(now_, next);
    scan(c <= d ? End::controller : End::device);
    return true;
}

void Bench::run_for(Duration time) {
    const Instant limit = now_ + time;
    while (step(limit)) {
    }
    now_ = limit;
}

bool Bench::run_until(const std::function<bool()>& holds, Duration limit) {
    const Instant last = now_ + limit;
    while (!holds())
        if (!step(last)) return false;
    return true;
}

bool Bench::both_running() const {
    return controller.state() == proto::State::running && device.state() == proto::State::running;
}

void Bench::acknowledge() {
    controller.set_acknowledge(Endpoint::Contact::closed, now_);
    controller.set_acknowledge(Endpoint::Contact::open, now_);
}

bool Bench::recover() {
    if (!run_until([this] { return controller.acknowledgement_requested(); })) return false;
    acknowledge();
    return run_until([this] { return both_running(); });
}

std::optional<Duration> Bench::age_of_value_at(End end) {
    const auto sampled = time_in(at(end).input());
    if (!sampled) return std::nullopt;
    return now_ - *sampled;
}

const Telegram* Bench::last_sent(End sender, proto::Transmission::Kind kind) const {
    for (auto t = log.rbegin(); t != log.rend(); ++t)
        if (t->sender == sender && t->what.kind == kind) return &*t;
    return nullptr;
}

std::optional<Instant> time_in(std::span<const std::uint8_t> payload) {
    if (payload.size() < 8) return std::nullopt;
    const std::uint64_t value = proto::load_be64(payload.data());
    if (value == 0) return std::nullopt;
    return Instant{static_cast<std::int64_t>(value - 1)};
}

}  // namespace tests
