#include "tools/run/part_row.hpp"

namespace tools {
namespace {

using sim::Direction;
using sim::End;
using sim::Instant;

/// Kinds of rows; the numbers are those in files.
enum Kind : unsigned {
    sending,             // direction, identity, signals
    parameter,           // direction, identity, signals
    connected,           // direction
    concluded,           // end, token, verdict
    changed,             // end, transition
    acknowledged,        // counted
    in_use,              // end, signals
    demanded,            // demand, signals, modes and muted
    machine,             // 0: started, else 1 + drive command; speeds up
    touched,             // fault, direction, since
    outputs_off,         // end
    offer,               // direction, identity, number, bytes
    delivery,            // end, identity, tag, bytes
    befell,              // direction, tag, fate
    contacted,           // safeguard, free
    computed,            // end, signals
    drive_slows,         // slows
    arrival,             // end, identity, waits
    repeat,              // direction, identity
    demanded_elsewhere,  // demand
    kinds
};

std::uint64_t packed(const proto::Verdict& verdict) {
    return std::uint64_t{verdict.number} << 32 | std::uint64_t{verdict.failed.packed()} << 8 |
           static_cast<std::uint64_t>(verdict.kind) << 1 | std::uint64_t{verdict.sender_safe};
}

proto::Verdict verdict_from(std::uint64_t packed) {
    proto::Verdict verdict;
    verdict.number = static_cast<std::uint32_t>(packed >> 32);
    verdict.failed = proto::MeasureSet::from_packed(static_cast<std::uint16_t>(packed >> 8));
    verdict.kind = static_cast<proto::Verdict::Kind>(packed >> 1 & 0x7F);
    verdict.sender_safe = (packed & 1) != 0;
    return verdict;
}

std::uint64_t packed(const proto::Transition& transition) {
    const std::uint64_t measure = transition.measure ? 1 + static_cast<std::uint64_t>(*transition.measure) : 0;
    return static_cast<std::uint64_t>(transition.from) | static_cast<std::uint64_t>(transition.to) << 8 |
           static_cast<std::uint64_t>(transition.cause) << 16 | measure << 24;
}

proto::Transition transition_from(std::uint64_t packed) {
    proto::Transition transition{static_cast<proto::State>(packed & 0xFF),
                                 static_cast<proto::State>(packed >> 8 & 0xFF),
                                 static_cast<proto::Cause>(packed >> 16 & 0xFF), std::nullopt};
    const std::uint64_t measure = packed >> 24 & 0xFF;
    if (measure != 0) transition.measure = static_cast<proto::Measure>(measure - 1);
    return transition;
}

template <class Place>
Row row(Kind kind, Place place, Instant at, std::uint64_t a = 0, std::uint64_t b = 0, std::uint64_t c = 0) {
    return {kind, static_cast<unsigned>(place), at.ns, a, b, c};
}

struct ToRow {
    Row operator()(const sim::LoggedSending& e) const { return row(sending, e.way, e.at, e.identity, e.signals); }
    Row operator()(const sim::LoggedParameter& e) const { return row(parameter, e.way, e.at, e.identity, e.signals); }
    Row operator()(const sim::Connected& e) const { return row(connected, e.way, e.at); }
    Row operator()(const sim::Concluded& e) const {
        return row(concluded, e.end, e.at, e.token.value, packed(e.verdict));
    }
    Row operator()(const sim::Changed& e) const { return row(changed, e.end, e.at, packed(e.transition)); }
    Row operator()(const sim::Acknowledged& e) const {
        return row(acknowledged, End::controller, e.at, e.counted ? 1 : 0);
    }
    Row operator()(const sim::InUse& e) const { return row(in_use, e.end, e.at, e.signals); }
    Row operator()(const sim::Demanded& e) const {
        return row(demanded, End::controller, e.at, e.demand, e.signals, e.modes << 1 | (e.muted ? 1U : 0U));
    }
    Row operator()(const sim::DemandedElsewhere& e) const {
        return row(demanded_elsewhere, End::controller, e.at, e.demand);
    }
    Row operator()(const sim::MachineTold& e) const {
        return row(machine, End::controller, e.at, e.command ? 1 + static_cast<std::uint64_t>(*e.command) : 0,
                   e.speeds_up ? 1 : 0);
    }
    Row operator()(const sim::Contacted& e) const {
        return row(contacted, End::controller, e.at, e.safeguard, e.free ? 1 : 0);
    }
    Row operator()(const sim::DriveSlows& e) const { return row(drive_slows, End::controller, e.at, e.slows ? 1 : 0); }
    Row operator()(const sim::Computed& e) const { return row(computed, e.end, e.at, e.signals); }
    Row operator()(const sim::Touched& e) const {
        return row(touched, e.way, e.at, e.fault, static_cast<std::uint64_t>(e.since.ns));
    }
    Row operator()(const sim::OutputsOff& e) const { return row(outputs_off, e.end, e.at); }
    Row operator()(const sim::LoggedOffer& e) const { return row(offer, e.way, e.at, e.identity, e.number, e.bytes); }
    Row operator()(const sim::LoggedDelivery& e) const {
        return row(delivery, e.to, e.at, e.identity, e.tag.value, e.bytes);
    }
    Row operator()(const sim::LoggedArrival& e) const { return row(arrival, e.end, e.at, e.identity, e.waits ? 1 : 0); }
    Row operator()(const sim::LoggedRepeat& e) const { return row(repeat, e.way, e.at, e.identity); }
    Row operator()(const sim::Befell& e) const {
        return row(befell, e.tag.direction, e.at, e.tag.token().value, static_cast<std::uint64_t>(e.fate));
    }
};

}  // namespace

Row row_of(const sim::Event& event) { return std::visit(ToRow{}, event); }

std::optional<sim::Event> event_of(const Row& row) {
    if (row.kind >= kinds || row.place > 1) return std::nullopt;
    const auto way = static_cast<Direction>(row.place);
    const auto end = static_cast<End>(row.place);
    const Instant at{row.at};
    switch (static_cast<Kind>(row.kind)) {
        case sending: return sim::LoggedSending{way, row.a, row.b, at};
        case parameter: return sim::LoggedParameter{way, row.a, row.b, at};
        case connected: return sim::Connected{way, at};
        case concluded: return sim::Concluded{end, {row.a}, verdict_from(row.b), at};
        case changed: return sim::Changed{end, transition_from(row.a), at};
        case acknowledged: return sim::Acknowledged{row.a != 0, at};
        case in_use: return sim::InUse{end, row.a, at};
        case demanded: return sim::Demanded{row.a, row.b, at, row.c >> 1, (row.c & 1) != 0};
        case machine:
            return sim::MachineTold{
                row.a == 0 ? std::nullopt : std::optional(static_cast<sim::DriveCommand>(row.a - 1)), at, row.b != 0};
        case touched: return sim::Touched{row.a, way, Instant{static_cast<std::int64_t>(row.b)}, at};
        case outputs_off: return sim::OutputsOff{end, at};
        case offer: return sim::LoggedOffer{way, row.a, row.b, row.c, at};
        case delivery: return sim::LoggedDelivery{end, row.a, {row.b}, row.c, at};
        case befell: return sim::Befell{sim::Tag::from({row.a}), static_cast<sim::Fate>(row.b), at};
        case contacted: return sim::Contacted{row.a, row.b != 0, at};
        case computed: return sim::Computed{end, row.a, at};
        case drive_slows: return sim::DriveSlows{row.a != 0, at};
        case arrival: return sim::LoggedArrival{end, row.a, at, row.b != 0};
        case repeat: return sim::LoggedRepeat{way, row.a, at};
        case demanded_elsewhere: return sim::DemandedElsewhere{row.a, at};
        case kinds: break;
    }
    return std::nullopt;
}

}  // namespace tools
