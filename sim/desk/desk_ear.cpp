#include "sim/desk/desk_ear.hpp"

#include <algorithm>

#include "proto/telegram.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

DeskEar::DeskEar(const Scenario& scenario, std::size_t link, std::uint64_t& telegrams_so_far)
    : scenario_(scenario),
      applications_{Application(scenario, End::controller), Application(scenario, End::device)},
      payloads_{proto::places_of(scenario.controller.link.profile, scenario.controller.link.payload_sent).payload,
                proto::places_of(scenario.device.link.profile, scenario.device.link.payload_sent).payload},
      telegrams_(scenario, link, telegrams_so_far) {}

void DeskEar::set(At at, std::uint64_t which, std::uint64_t signals, Instant now) {
    Values& values = values_[static_cast<std::size_t>(at)];
    const std::uint64_t turned = (values.now ^ signals) & which;
    if (turned == 0) return;
    values.now ^= turned;
    for (std::size_t i = 0; i < values.changed.size(); ++i)
        if ((turned >> i & 1) != 0) values.changed[i] = now;
}

void DeskEar::hear(const Sent& fact) {
    ++happenings_;
    now_ = fact.at;
    telegrams_.sent(fact);
    if (fact.kind == proto::Transmission::Kind::fresh) set(At::sent, sent_by(sender(fact.way)), fact.signals, fact.at);
}

void DeskEar::hear(const Befell& fact) { telegrams_.befell(fact); }

void DeskEar::hear(const Delivered& fact) {
    ++happenings_;
    now_ = fact.at;
    telegrams_.delivered(fact);
}

void DeskEar::hear(const Concluded& fact) {
    ++happenings_;
    now_ = fact.at;
    const DeskTelegram* const telegram = telegrams_.concluded(fact);
    if (fact.verdict.kind != proto::Verdict::Kind::fresh) return;
    ends_[static_cast<std::size_t>(fact.end)].last_good = fact.at;
    if (telegram != nullptr && !telegram->parameter) took_in(fact.end, telegram->bytes, fact.at);
}

/// The payload as the end's own bit map reads it.
void DeskEar::took_in(End end, const std::vector<std::uint8_t>& bytes, Instant now) {
    const proto::FieldPlace place = payloads_[static_cast<std::size_t>(proto::other(end))];
    const unsigned expected = scenario_.end(end).link.payload_received;
    if (place.first_bit % 8 != 0 || place.bits / 8 < expected || place.first_bit / 8 + expected > bytes.size()) return;
    const std::span<const std::uint8_t> payload(bytes.data() + place.first_bit / 8, expected);
    set(At::received, received_by(end), applications_[static_cast<std::size_t>(end)].read(payload), now);
}

void DeskEar::hear(const Changed& fact) {
    if (deaf_) return;
    ++happenings_;
    ++changes_;
    now_ = fact.at;
    trace(fact);
    news_.emplace_back(fact);
    OfEnd& end = ends_[static_cast<std::size_t>(fact.end)];
    end.since = fact.at;
    const proto::Cause cause = fact.transition.cause;
    if (cause != proto::Cause::error_free_again && cause != proto::Cause::errors_again) {
        end.cause = cause;
        end.measure = fact.transition.measure;
    }
    if (cause != proto::Cause::power_up) return;
    end.last_good.reset();
    set(At::received, received_by(fact.end), 0, fact.at);
    telegrams_.begins_anew(fact.end);
}

void DeskEar::hear(const InUse& fact) {
    trace(fact);
    set(At::used, received_by(fact.end), fact.signals, fact.at);
}

void DeskEar::hear(const OutputsOff& fact) {
    ++changes_;
    trace(fact);
    set(At::used, received_by(fact.end), 0, fact.at);
}

void DeskEar::hear(const Demanded& fact) {
    news_.emplace_back(fact);
    if (fact.signals == 0) return;
    machine_.last_demand = scenario_.place_of(scenario_.demands[fact.demand].safeguard);
    machine_.last_demand_at = fact.at;
}

void DeskEar::hear(const MachineTold& fact) {
    ++happenings_;
    ++changes_;
    trace(fact);
    news_.emplace_back(fact);
    if (!fact.command) return;
    machine_.commanded = fact.at;
    if (*fact.command != DriveCommand::run) machine_.last_stop = fact.at;
}

void DeskEar::hear(const Contacted& fact) {
    trace(fact);
    news_.emplace_back(fact);
}

void DeskEar::hear(const Computed& fact) {
    trace(fact);
    set(At::computed, sent_by(fact.end), fact.signals, fact.at);
}

}  // namespace sim
