#include "tests/support/bench.hpp"

#include <algorithm>

#include "proto/bytes.hpp"

namespace tests {
namespace {

using proto::Duration;
using proto::End;
using proto::Endpoint;
using proto::Instant;

Endpoint made(const proto::LinkSettings& settings, proto::EventSink& sink, proto::ProfileUse use) {
    auto endpoint = Endpoint::make(settings, sink, use);
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

Bench::Bench(const Pair& settings, proto::ProfileUse use)
    : controller(made(settings.controller, at_controller, use)),
      device(made(settings.device, at_device, use)),
      parties_{EndpointParty(controller), EndpointParty(device)},
      ends_(parties_[0], parties_[1], End::controller) {
    application = [this](End end) {
        const auto out = at(end).output();
        if (out.size() >= 8) proto::store_be64(out.data(), static_cast<std::uint64_t>(now().ns) + 1);
    };
    for (const End end : {End::controller, End::device}) {
        EndpointParty& party = parties_[static_cast<std::size_t>(end)];
        party.on = false;
        party.application = [this, end](Instant) {
            if (application) application(end);
        };
    }
    ends_.channel = [this](const TwoEnds::Sent& sent) { send(sent); };
    ends_.before_scan = [this](End end) {
        if (before_scan) before_scan(end);
    };
    ends_.after_scan = [this](End end) {
        if (after_scan) after_scan(end);
    };
}

void Bench::start(End end, Duration phase) {
    ++starts_;
    ends_.way_to(end).telegrams.clear();
    parties_[static_cast<std::size_t>(end)].on = true;
    at(end).start(now(), phase, 0x5EED0000 + starts_);
}

void Bench::stop(End end) { parties_[static_cast<std::size_t>(end)].on = false; }

void Bench::start_both() {
    start(End::controller);
    start(End::device, proto::milliseconds(3));
}

void Bench::bring_up() {
    start_both();
    proto::require(run_until([this] { return both_running(); }), "the link on the bench does not come up");
}

void Bench::inject(End to, const Bytes& bytes, Duration delay, std::uint64_t token) {
    ends_.way_to(to).put(now() + delay, bytes, token);
}

void Bench::send(const TwoEnds::Sent& sent) {
    const End end = sent.sender;
    const Sent what{sent.what, at(end).counters().number_sent};
    std::uint64_t& ordinal = sent_by_[static_cast<std::size_t>(end)];
    Telegram telegram{end, what, now(), ++ordinal, Bytes(sent.bytes.begin(), sent.bytes.end()), {}};
    telegram.arrivals.push_back({usual_delay, telegram.bytes});
    if (keep_log) log.push_back(telegram);
    if (channel) channel(telegram);
    for (const Telegram::Arrival& arrival : telegram.arrivals)
        if (on(proto::other(end)))
            ends_.way_to(proto::other(end)).put(now() + arrival.delay, arrival.bytes, telegram.ordinal);
}

void Bench::run_for(Duration time) { ends_.run_until(now() + time); }

bool Bench::run_until(const std::function<bool()>& holds, Duration limit) {
    const Instant last = now() + limit;
    while (!holds())
        if (!ends_.step(last)) return false;
    return true;
}

bool Bench::both_running() const {
    return controller.state() == proto::State::running && device.state() == proto::State::running;
}

void Bench::acknowledge() {
    controller.set_acknowledge(Endpoint::Contact::closed, now());
    controller.set_acknowledge(Endpoint::Contact::open, now());
}

bool Bench::recover() {
    if (!run_until([this] { return controller.acknowledgement_requested(); })) return false;
    acknowledge();
    return run_until([this] { return both_running(); });
}

std::optional<Duration> Bench::age_of_value_at(End end) {
    const auto sampled = time_in(at(end).input());
    if (!sampled) return std::nullopt;
    return now() - *sampled;
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
