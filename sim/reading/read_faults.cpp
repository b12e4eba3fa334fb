#include <algorithm>
#include <array>
#include <limits>

#include "proto/telegram.hpp"
#include "proto/verdict.hpp"
#include "sim/judge/result.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;
constexpr std::int64_t back_max = 127;  ///< the channel remembers so many telegrams
constexpr std::int64_t times_max = 1'000'000'000;
constexpr std::int64_t drift_ppm_max = 500'000;  ///< half as fast again: far beyond any clock

/// Those of which each means something for some ways only.
constexpr std::array keys_of_ways{"bits", "count", "length",     "rate",      "field",     "back",
                                  "hold", "extra", "keep_order", "drift_ppm", "other_link"};

constexpr std::array ways{FaultWay::flip_bits,      FaultWay::random_bits,
                          FaultWay::burst,          FaultWay::bit_rate,
                          FaultWay::truncate,       FaultWay::beside,
                          FaultWay::instead,        FaultWay::current_again,
                          FaultWay::old_parameters, FaultWay::hold,
                          FaultWay::drop,           FaultWay::step,
                          FaultWay::creeping,       FaultWay::neighbour,
                          FaultWay::stray,          FaultWay::no_crc,
                          FaultWay::other_crc,      FaultWay::all_zero,
                          FaultWay::swap,           FaultWay::misdeliver,
                          FaultWay::loop_back,      FaultWay::restart,
                          FaultWay::stall,          FaultWay::frozen_data,
                          FaultWay::clock_drift,    FaultWay::drive_does_not_slow};
constexpr std::array errors{ErrorKind::corruption, ErrorKind::repetition, ErrorKind::incorrect_sequence,
                            ErrorKind::loss,       ErrorKind::delay,      ErrorKind::insertion,
                            ErrorKind::masquerade, ErrorKind::addressing};

/// Keys that mean something for a way, besides those for every fault.
std::vector<std::string_view> keys_of(FaultWay way) {
    switch (way) {
        case FaultWay::flip_bits: return {"bits"};
        case FaultWay::random_bits: return {"count", "field"};
        case FaultWay::burst: return {"length", "field"};
        case FaultWay::bit_rate: return {"rate", "field"};
        case FaultWay::truncate: return {"count"};
        case FaultWay::beside:
        case FaultWay::instead: return {"back"};
        case FaultWay::hold: return {"hold"};
        case FaultWay::step:
        case FaultWay::creeping: return {"extra", "keep_order"};
        case FaultWay::clock_drift: return {"drift_ppm"};
        case FaultWay::neighbour:
        case FaultWay::swap:
        case FaultWay::misdeliver: return {"other_link"};
        case FaultWay::restart:
        case FaultWay::stall:
        case FaultWay::frozen_data:
        case FaultWay::drive_does_not_slow:
        case FaultWay::current_again:
        case FaultWay::old_parameters:
        case FaultWay::drop:
        case FaultWay::stray:
        case FaultWay::no_crc:
        case FaultWay::other_crc:
        case FaultWay::all_zero:
        case FaultWay::loop_back: return {};
    }
    return {};
}

template <class T, std::size_t N>
std::optional<T> by_name(Section& section, std::string_view key, const std::array<T, N>& all) {
    std::vector<std::string> names;
    for (const T one : all) names.emplace_back(name_of(one));
    holds(section, key, KeyShape::choice(names));
    const std::optional<std::string> typed = section.text(key);
    if (!typed) return std::nullopt;
    for (const T one : all)
        if (name_of(one) == *typed) return one;
    section.none_of(key, *typed, names);
    return std::nullopt;
}

bool is_polled(const Scenario& scenario) { return scenario.controller.link.exchange == proto::Exchange::polled; }

void read_error_and_way(Section& section, const Scenario& scenario, Fault& fault) {
    const std::optional<ErrorKind> error = by_name(section, "error", errors);
    const std::optional<FaultWay> way = by_name(section, "way", ways);
    if (!section.has("way"))
        section.missing("way", R"("random-bits", "drop" or another, see )" + shipped_file("README.md"));
    fault.way = way.value_or(FaultWay::drop);
    fault.error = error_of(fault.way);
    if (!error || !way || *error == fault.error) return;
    if (*error == ErrorKind::delay && *way == FaultWay::hold && is_polled(scenario) && !section.in_doubt({"link"})) {
        section.say("error",
                    "a polled link rides through one late telegram: the late copy is rejected by its number; "
                    "write error = \"incorrect-sequence\", or way = \"step\" with lasting for a period of delay");
        return;
    }
    std::string names;
    for (const FaultWay other : ways) {
        if (error_of(other) == *error) names += (names.empty() ? "" : ", ") + std::string(name_of(other));
    }
    section.say("way", in_quotes(name_of(fault.way)) + " is a way of " + std::string(name_of(fault.error)) +
                           ", not of " + std::string(name_of(*error)) + "; write one of " + names);
}

/// The most process telegrams that can be sent on a way within the run.
std::uint64_t most_telegrams(const Scenario& scenario, Direction direction) {
    const bool by_device = direction == Direction::to_controller && !is_polled(scenario);
    const Duration every = by_device ? scenario.device.link.scan : scenario.controller.link.cycle;
    return static_cast<std::uint64_t>(scenario.duration.ns / every.ns) + 1;
}

void check_in_run(Section& section, const Scenario& scenario, const Fault& fault) {
    if (!fault.at || *fault.at < scenario.duration || section.in_doubt({"duration"})) return;
    section.say("at", written(*fault.at) + " is after the end of the run; write less than \"" +
                          written(scenario.duration) + "\", or lengthen duration");
}

void read_begin(Section& section, const Scenario& scenario, Fault& fault) {
    unsigned begins = 0;
    for (const char* key : {"at", "on_telegram", "after_demand", "before_demand"}) begins += section.has(key) ? 1U : 0U;
    fault.at = section.duration("at", Zero::allowed, run_longest);
    if (begins != 1)
        section.say("at",
                    "exactly one of at, on_telegram, after_demand and before_demand is needed; write at = \"2 s\" or "
                    "on_telegram = 200");
    check_in_run(section, scenario, fault);
    if (const std::optional<Duration> by_demand = begin_by_demand(section, scenario)) fault.at = by_demand;
    const Node* node = section.find("on_telegram");
    holds(section, "on_telegram", KeyShape::integer(1, std::numeric_limits<std::int64_t>::max()));
    if (node == nullptr || section.in_doubt({"link", "duration"})) return;
    const std::uint64_t most = std::max(fault.to_device ? most_telegrams(scenario, Direction::to_device) : 0,
                                        fault.to_controller ? most_telegrams(scenario, Direction::to_controller) : 0);
    if (node->kind != Node::Kind::integer) {
        section.say("on_telegram", "is no whole number; write 1 to " + std::to_string(most));
    } else if (node->integer < 1 || static_cast<std::uint64_t>(node->integer) > most) {
        section.say("on_telegram", std::to_string(node->integer) + " never comes; write 1 to " + std::to_string(most) +
                                       ", or lengthen duration");
    } else {
        fault.on_telegram = static_cast<std::uint64_t>(node->integer);
    }
}

void read_extent(Section& section, Fault& fault) {
    if (const auto times = section.integer("times", 1, times_max)) fault.times = static_cast<std::uint64_t>(*times);
    fault.lasting = section.duration("lasting", Zero::refused, run_longest);
    if (section.has("times") && section.has("lasting"))
        section.say("times", "only one of times and lasting is possible; take one away");
    if (const auto every = section.integer("every", 1, times_max)) fault.every = static_cast<std::uint64_t>(*every);
    if (fault.way == FaultWay::creeping && !section.has("lasting")) section.missing("lasting", "\"5 s\"");
}

/// Bits that a corruption can touch, in the shorter of the ways concerned; 0 if the field is not in the bytes.
unsigned bits_to_bend(const Scenario& scenario, const Fault& fault) {
    const proto::LinkSettings& link = scenario.controller.link;
    unsigned least = proto::telegram_bytes_max * 8;
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        if (!(direction == Direction::to_device ? fault.to_device : fault.to_controller)) continue;
        const unsigned payload = direction == Direction::to_device ? link.payload_sent : link.payload_received;
        const auto layout = proto::layout_of(link.profile, payload);
        if (!layout) continue;
        const proto::FieldPlaces places = proto::places_of(link.profile, payload);
        unsigned bits = layout.value().total_bytes * 8;
        switch (fault.field) {
            case TelegramField::whole: break;
            case TelegramField::status: bits = places.status.bits; break;
            case TelegramField::address: bits = places.source.bits + places.destination.bits; break;
            case TelegramField::sequence: bits = places.number.bits; break;
            case TelegramField::payload: bits = places.payload.bits; break;
            case TelegramField::crc: bits = places.crc.bits; break;
        }
        least = std::min(least, bits);
    }
    return least;
}

/// Those to be flipped, of the `bits` that the field has in a telegram.
void read_listed_bits(Section& section, unsigned bits, Fault& fault) {
    const Node* const list = section.find("bits");
    holds(section, "bits", KeyShape::integers(0, std::int64_t{bits} - 1));
    if (list == nullptr) {
        if (fault.way == FaultWay::flip_bits) section.missing("bits", "[3, 17]");
        return;
    }
    for (const Node& item : list->items) {
        const bool right = item.kind == Node::Kind::integer && item.integer >= 0 && item.integer < std::int64_t{bits};
        const auto bit = right ? static_cast<unsigned>(item.integer) : 0U;
        if (!right) {
            section.say("bits", "has what is no bit of this telegram; write 0 to " + std::to_string(bits - 1));
        } else if (std::find(fault.bits.begin(), fault.bits.end(), bit) != fault.bits.end()) {
            section.say("bits", "has " + std::to_string(bit) + " twice, which flips nothing; write each bit once");
        }
        fault.bits.push_back(bit);
    }
    if (fault.bits.empty()) section.say("bits", "names no bit; write a list such as [3, 17]");
}

void read_what(Section& section, const Scenario& scenario, Fault& fault) {
    const auto field = section.choice<TelegramField>("field", {{"whole", TelegramField::whole},
                                                               {"status", TelegramField::status},
                                                               {"address", TelegramField::address},
                                                               {"sequence", TelegramField::sequence},
                                                               {"payload", TelegramField::payload},
                                                               {"crc", TelegramField::crc}});
    fault.field = field.value_or(TelegramField::whole);
    if (section.wrong()) return;
    // how many there are nobody knows without the link, but never more
    const unsigned bits = section.in_doubt({"link"}) ? proto::telegram_bytes_max * 8 : bits_to_bend(scenario, fault);
    if (bits == 0) {
        section.say("field", "is not in the bytes of a telegram of " + scenario.controller.profile_file +
                                 "; write another field, or \"whole\"");
        return;
    }
    read_listed_bits(section, bits, fault);
    const std::int64_t count_max = fault.way == FaultWay::truncate ? bits / 8 : bits;
    if (const auto count = section.integer("count", 1, count_max)) fault.count = static_cast<unsigned>(*count);
    if (const auto length = section.integer("length", 1, bits)) fault.length = static_cast<unsigned>(*length);
    if (fault.way == FaultWay::burst && !section.has("length")) section.missing("length", "16");
    fault.rate = section.probability("rate").value_or(0.0);
    if (fault.way == FaultWay::bit_rate && !section.has("rate")) section.missing("rate", "0.01");
    if (section.has("rate") && fault.rate <= 0.0) section.say("rate", "0 flips nothing; write more, such as 0.01");
    if (const auto back = section.integer("back", 1, back_max)) fault.back = static_cast<unsigned>(*back);
    const Duration longest = std::min(proto::seconds(60), scenario.duration);
    fault.hold = section.duration("hold", Zero::refused, longest).value_or(Duration{});
    if (fault.way == FaultWay::hold && !section.has("hold")) section.missing("hold", "\"25 ms\"");
    fault.extra = section.duration("extra", Zero::refused, longest).value_or(Duration{});
    if (error_of(fault.way) == ErrorKind::delay && !section.has("extra")) section.missing("extra", "\"30 ms\"");
    fault.keep_order = section.flag("keep_order").value_or(true);
}

void check_use(Section& section, const Scenario& scenario, const Fault& fault) {
    if (fault.way == FaultWay::step && !section.has("lasting") && !section.has("until") &&
        fault.times.value_or(1) == 1 && is_polled(scenario) && !section.wrong() && !section.in_doubt({"link"})) {
        section.say("way",
                    "a polled link rides through one late telegram; write lasting = \"0.2 s\" for a period of "
                    "delay, or error = \"incorrect-sequence\" with way = \"hold\"");
    }
    const std::vector<std::string_view> used = keys_of(fault.way);
    for (const std::string_view key : keys_of_ways) {
        if (section.node().find(key) == nullptr || std::find(used.begin(), used.end(), key) != used.end()) continue;
        section.say(key, "means nothing with way = " + in_quotes(name_of(fault.way)) + "; take it away");
    }
    check_other_link(section, scenario, fault);
    if (fault.way == FaultWay::old_parameters && (!fault.to_device || fault.to_controller)) {
        section.say("direction", "the offer of the parameters goes out only; write \"to-device\"");
    }
}

void read_expectation(Section& section, Fault& fault) {
    std::optional<Section> expect = section.table("expect");
    if (!expect) return;
    constexpr std::array outcomes{Outcome::safe_state, Outcome::tolerated, Outcome::no_effect, Outcome::dangerous,
                                  Outcome::never_ran};
    if (const auto outcome = by_name(*expect, "outcome", outcomes))
        fault.expect_outcome = std::string(name_of(*outcome));
    fault.expect_detected_by = expect->texts("detected_by");
    std::vector<std::string> names{"none"};
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        names.emplace_back(proto::name_of(static_cast<proto::Measure>(i)));
    }
    holds(*expect, "detected_by", KeyShape::texts(names));
    for (const std::string& measure : fault.expect_detected_by) {
        if (std::find(names.begin(), names.end(), measure) == names.end())
            expect->none_of("detected_by", measure, names);
    }
    fault.expect_end = expect->text("at");
    holds(*expect, "at", KeyShape::choice(std::array{"controller", "device"}));
    if (fault.expect_end && *fault.expect_end != "controller" && *fault.expect_end != "device") {
        expect->say("at", in_quotes(*fault.expect_end) + R"( is no end; write "controller" or "device")");
    }
    expect->finish();
}

/// Which end fails, from when and for how long.
void read_failing_end(Section& section, const Scenario& scenario, Fault& fault) {
    fault.at_end = section.choice<End>("at_end", {{"controller", End::controller}, {"device", End::device}});
    if (!section.has("at_end")) section.missing("at_end", R"("controller" or "device")");
    for (const char* key : {"direction", "on_telegram", "times", "every"}) {
        if (section.has(key)) section.say(key, "means nothing for a fault of an end; take it away");
    }
    fault.at = section.duration("at", Zero::allowed, run_longest);
    const bool by_demand = section.has("after_demand") || section.has("before_demand");
    if (!section.has("at") && !by_demand) section.missing("at", "\"2 s\"");
    if (section.has("at") && by_demand) {
        section.say("at", "says the begin a second time; take it away, or the demand and its offset");
    }
    if (const std::optional<Duration> begin = begin_by_demand(section, scenario)) fault.at = begin;
    check_in_run(section, scenario, fault);
    fault.lasting = section.duration("lasting", Zero::refused, run_longest);
    const bool needs_end = fault.way == FaultWay::restart || fault.way == FaultWay::stall;
    if (needs_end && !section.has("lasting")) section.missing("lasting", "\"0.5 s\"");
    if (fault.way != FaultWay::clock_drift) return;
    fault.drift_ppm = section.integer("drift_ppm", -drift_ppm_max, drift_ppm_max).value_or(0);
    if (!section.has("drift_ppm")) section.missing("drift_ppm", "20000");
    if (section.has("drift_ppm") && fault.drift_ppm == 0) {
        section.say("drift_ppm", "0 is no drift; write how many millionths the clock is fast, or slow with a minus");
    }
}

/// Two restarts, stalls and so on of one end at once would be one fault that nobody wrote.
void check_one_at_a_time(const Scenario& scenario, Problems& problems) {
    const auto end_of = [](const Fault& f) {
        return f.lasting && !f.when.any() ? f.at.value_or(Duration{}) + *f.lasting : Duration{proto::never.ns};
    };
    for (std::size_t later = 0; later < scenario.faults.size(); ++later) {
        const Fault& b = scenario.faults[later];
        if (!b.at_end || !b.at) continue;
        for (std::size_t earlier = 0; earlier < later; ++earlier) {
            const Fault& a = scenario.faults[earlier];
            if (a.at_end != b.at_end || a.way != b.way || !a.at) continue;
            if (*b.at >= end_of(a) || *a.at >= end_of(b)) continue;
            problems.say({b.where.line, b.where.key + ".at"},
                         "another " + std::string(name_of(b.way)) + " of that end (line " +
                             std::to_string(a.where.line) +
                             ") has not ended then; write a later time, or end that one with lasting");
            return;
        }
    }
}

/// Nobody knows what the other keys mean: only what they are called, and what is expected, can be looked at.
Fault read_of_no_way(Section& section, Fault fault) {
    for (const char* key : keys_of_ways) static_cast<void>(section.has(key));
    for (const char* key :
         {"direction", "at", "on_telegram", "after_demand", "before_demand", "offset", "times", "lasting", "every",
          "while", "while_end", "while_machine", "from_position", "to_position", "until", "at_end"})
        static_cast<void>(section.has(key));
    read_expectation(section, fault);
    section.finish();
    return fault;
}

Fault read_fault(Section& section, const Scenario& scenario) {
    enum class Ways : std::uint8_t { out, back, both };
    Fault fault;
    fault.where = section.place();
    read_error_and_way(section, scenario, fault);
    if (!section.has("way") || section.wrong("way")) return read_of_no_way(section, fault);
    if (fault.error == ErrorKind::none) {
        for (const char* key : keys_of_ways) static_cast<void>(section.has(key));
        read_failing_end(section, scenario, fault);
        read_end_condition(section, scenario, fault);
        check_drive(section, scenario, fault);
        // what it touches first is what that end would send
        fault.to_device = fault.at_end == End::controller;
        fault.to_controller = !fault.to_device;
        read_expectation(section, fault);
        section.finish();
        check_use(section, scenario, fault);
        return fault;
    }
    if (section.has("at_end")) {
        section.say("at_end", in_quotes(name_of(fault.way)) +
                                  " happens on the way, not at an end; take it away, or write "
                                  "restart, stall, frozen-data, clock-drift or drive-does-not-slow");
    }
    const Ways direction =
        section
            .choice<Ways>("direction", {{"to-device", Ways::out}, {"to-controller", Ways::back}, {"both", Ways::both}})
            .value_or(Ways::out);
    fault.to_device = direction != Ways::back;
    fault.to_controller = direction != Ways::out;
    read_begin(section, scenario, fault);
    read_extent(section, fault);
    read_condition(section, scenario, fault);
    for (const char* key : keys_of_ways) static_cast<void>(section.has(key));  // known, whatever the way makes of it
    read_what(section, scenario, fault);
    read_other_link(section, fault);
    read_expectation(section, fault);
    section.finish();
    check_use(section, scenario, fault);
    return fault;
}

}  // namespace

void read_faults(Section& top, Scenario& scenario) {
    for (Section& section : top.tables("fault")) {
        if (scenario.faults.size() == faults_max)
            return top.problems().say(section.place(),
                                      "is one too many; write at most " + std::to_string(faults_max) + " faults");
        scenario.faults.push_back(read_fault(section, scenario));
    }
    if (!top.in_doubt({"fault", "demand", "safeguard"})) check_one_at_a_time(scenario, top.problems());
}

}  // namespace sim
