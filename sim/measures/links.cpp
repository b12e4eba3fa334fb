#include "sim/measures/links.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "proto/crc_catalogue.hpp"
#include "sim/measures/by_design.hpp"

namespace sim {
namespace {

using proto::Exchange;
using proto::LinkSettings;
using proto::Measure;
using proto::milliseconds;
using proto::NumberUse;
using proto::Presence;
using proto::Profile;

constexpr proto::Duration watchdog = milliseconds(45);
constexpr proto::Duration no_watchdog = proto::seconds(36'000);  // longer than any run here
constexpr proto::Duration longest_age = milliseconds(60);
constexpr unsigned longest_lag = 4;       ///< numbers; three come from scans and delays alone
constexpr unsigned short_number = 6;      ///< bits, so that a number comes round within a trial
constexpr unsigned ordinary_number = 16;  ///< bits

template <class Change>
void at_both(StudyLink& link, Change change) {
    change(link.controller);
    change(link.device);
}

proto::CrcSpec safety_crc() {
    const proto::NamedCrc* named = proto::find_crc("CRC-32/ISCSI");
    proto::require(named != nullptr, "the catalogue lacks CRC-32/ISCSI");
    return named->spec;
}

/// Addresses that differ in every width that can tell two ends apart.
struct Addresses {
    std::uint32_t controller, device;
};
Addresses addresses_in(const proto::Field& field) {
    if (field.presence == Presence::absent || field.bits >= 8) return {0x51, 0x52};
    return field.bits >= 2 ? Addresses{1, 2} : Addresses{1, 0};
}

void give_profile(StudyLink& link, const Profile& profile) {
    const Addresses addresses = addresses_in(profile.address);
    at_both(link, [&](LinkSettings& end) {
        end.profile = profile;
        end.exchange = link.exchange;
        end.payload_sent = end.payload_received = profile.payload_bytes;
    });
    link.controller.own_address = link.device.peer_address = addresses.controller;
    link.device.own_address = link.controller.peer_address = addresses.device;
}

void set_watchdog(StudyLink& link, proto::Duration time) {
    at_both(link, [&](LinkSettings& end) { end.watchdog = end.peer_watchdog = time; });
}

void judge_age(StudyLink& link) {
    at_both(link, [](LinkSettings& end) {
        end.max_age = longest_age;
        if (end.profile.time_stamp_kind == proto::StampKind::clock) end.max_early = longest_age;
    });
}

StudyLink bare(Exchange exchange) {
    StudyLink link;
    link.exchange = exchange;
    link.controller.end = proto::End::controller;
    link.device.end = proto::End::device;
    return link;
}

Profile nothing_carried() {
    Profile profile;
    profile.name = "one measure";
    profile.direction = Presence::absent;
    return profile;
}

/// Lag is judged where the number is wide enough for what an undisturbed exchange needs.
bool can_judge_lag(const Profile& profile) {
    return profile.feedback && profile.sequence.bits >= 4 && longest_lag < 1ULL << (profile.sequence.bits - 1);
}

/// A profile without CRC has nothing that covers what is implied: a number must then be carried to be known at all.
void uncover(Profile& profile) {
    profile.crc.reset();
    profile.crc_name.clear();
    profile.zero_as_one = false;
    if (profile.address.presence == Presence::implied) profile.address = {};
    if (profile.direction == Presence::implied) profile.direction = Presence::absent;
    if (profile.sequence.presence == Presence::implied) profile.sequence.presence = Presence::carried;
}

}  // namespace

StudyLink with_only(Measure measure) {
    StudyLink link = bare(Exchange::streaming);
    link.use = proto::ProfileUse::single_measure;
    link.measures.add(measure);
    Profile profile = nothing_carried();
    switch (measure) {
        case Measure::cross_check: profile.copies = 2; break;
        case Measure::integrity:
            profile.crc = safety_crc();
            link.other_traffic_crc = profile.crc;
            break;
        case Measure::different_integrity:
            profile.crc = safety_crc();
            link.measures.add(Measure::integrity);
            break;
        case Measure::authentication:
            profile.address = {Presence::carried, 16};
            profile.direction = Presence::carried;
            break;
        case Measure::sequence: profile.sequence = {Presence::carried, short_number}; break;
        case Measure::feedback:
            profile.sequence = {Presence::carried, ordinary_number};
            profile.feedback = true;
            break;
        case Measure::time_stamp:
            profile.time_stamp_bits = 16;
            profile.time_stamp_kind = proto::StampKind::clock;
            break;
        case Measure::time_expectation: break;
    }
    give_profile(link, profile);
    set_watchdog(link, measure == Measure::time_expectation ? watchdog : no_watchdog);
    if (measure == Measure::feedback)
        at_both(link, [](LinkSettings& end) {
            end.number_use = NumberUse::fed_back;
            end.max_lag = longest_lag;
        });
    if (measure == Measure::time_stamp) judge_age(link);
    return link;
}

StudyLink with_every_measure() {
    StudyLink link = bare(Exchange::streaming);
    Profile profile;
    profile.name = "every measure";
    profile.copies = 2;
    profile.crc = safety_crc();
    profile.address = {Presence::carried, 16};
    profile.sequence = {Presence::carried, ordinary_number};
    profile.feedback = true;
    profile.time_stamp_bits = 16;
    profile.time_stamp_kind = proto::StampKind::clock;
    give_profile(link, profile);
    set_watchdog(link, watchdog);
    at_both(link, [](LinkSettings& end) { end.max_lag = longest_lag; });
    judge_age(link);
    for (unsigned i = 0; i < proto::measure_count; ++i) link.measures.add(static_cast<Measure>(i));
    return link;
}

proto::Result<StudyLink, proto::SettingsError> link_of(const Profile& profile, Exchange exchange) {
    StudyLink link = bare(exchange);
    link.payload = StudyLink::Payload::as_set;
    give_profile(link, profile);
    set_watchdog(link, watchdog);
    link.measures.add(Measure::time_expectation);
    link.measures.add(Measure::integrity);
    link.measures.add(Measure::different_integrity);
    link.measures.add(Measure::sequence);
    if (profile.copies == 2) link.measures.add(Measure::cross_check);
    if (profile.address.presence != Presence::absent || profile.direction != Presence::absent)
        link.measures.add(Measure::authentication);
    const bool lag = exchange == Exchange::streaming && can_judge_lag(profile);
    if (lag) at_both(link, [](LinkSettings& end) { end.max_lag = longest_lag; });
    if (lag || exchange == Exchange::polled) link.measures.add(Measure::feedback);
    if (profile.time_stamp_bits != 0) {
        judge_age(link);
        link.measures.add(Measure::time_stamp);
    }
    for (const LinkSettings* end : {&link.controller, &link.device})
        if (const auto fault = proto::fault_in(*end)) return *fault;
    return link;
}

bool can_do_without(const StudyLink& link, Measure measure) {
    const bool paces = measure == Measure::sequence || measure == Measure::feedback;
    return link.measures.has(measure) && !(paces && link.exchange == Exchange::polled);
}

StudyLink without(StudyLink link, Measure measure) {
    proto::require(can_do_without(link, measure), "a link cannot do without this measure");
    link.use = proto::ProfileUse::single_measure;
    link.measures.remove(measure);
    switch (measure) {
        case Measure::cross_check: at_both(link, [](LinkSettings& end) { end.profile.copies = 1; }); break;
        case Measure::integrity:
            link.measures.remove(Measure::different_integrity);
            at_both(link, [](LinkSettings& end) { uncover(end.profile); });
            break;
        case Measure::different_integrity: link.other_traffic_crc = link.controller.profile.crc; break;
        case Measure::authentication:
            at_both(link, [](LinkSettings& end) {
                end.profile.address = {};
                end.profile.direction = Presence::absent;
            });
            break;
        case Measure::sequence:
            at_both(link, [](LinkSettings& end) {
                end.number_use = NumberUse::fed_back;
                // what is only implied is found by judging it
                if (end.profile.sequence.presence == Presence::implied)
                    end.profile.sequence.presence = Presence::carried;
            });
            break;
        case Measure::feedback:
            at_both(link, [](LinkSettings& end) {
                end.profile.feedback = false;
                end.max_lag.reset();
            });
            break;
        case Measure::time_stamp:
            at_both(link, [](LinkSettings& end) {
                end.profile.time_stamp_bits = 0;
                end.max_age = end.max_early = {};
            });
            break;
        case Measure::time_expectation: set_watchdog(link, no_watchdog); break;
    }
    // what is left must not be taken for a dead line, or the link would stop for that
    const LinkSettings& controller = link.controller;
    if (may_be_all_zero(controller.profile, controller.own_address, controller.peer_address))
        at_both(link, [](LinkSettings& end) { end.profile.zero_as_one = true; });
    return link;
}

}  // namespace sim
