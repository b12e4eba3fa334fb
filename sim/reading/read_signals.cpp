// [[mode]] and [[signal]]: ways of running, and what each safe bit is made of.
#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "sim/reading/named_things.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

void read_modes(Section& top, Scenario& scenario) {
    for (Section& section : top.tables("mode")) {
        if (scenario.modes.size() == modes_max)
            return top.problems().say(section.place(), "is one too many; write at most 16 modes");
        Mode mode;
        mode.where = section.place();
        mode.name = read_name(section);
        mode.takes = section.duration("takes", Section::Zero::allowed, proto::seconds(60)).value_or(Duration{});
        section.finish();
        is_new_name(scenario.modes, mode.name, section);
        is_new_name(scenario.safeguards, mode.name, section);
        scenario.modes.push_back(std::move(mode));
    }
}

void read_in_mode(Section& section, const Scenario& scenario, std::vector<std::string>& modes) {
    modes = section.texts("in_mode");
    for (const std::string& mode : modes)
        if (!section.in_doubt({"mode.name"}) && named(scenario.modes, mode) == nullptr)
            section.say("in_mode",
                        in_quotes(mode) + " is no mode" + nearest_to(scenario.modes, mode, "write a [[mode]] first"));
}

namespace {

void check_source(const Scenario& scenario, const Signal& signal, const std::string& source, const Place& where,
                  Problems& problems) {
    if (named(scenario.modes, source) != nullptr) return;
    const End at = sender(signal.direction);
    const std::string end_name = at == End::controller ? "controller" : "device";
    if (const Safeguard* safeguard = named(scenario.safeguards, source)) {
        if (safeguard->at == at) return;
        problems.say(where, in_quotes(source) + " is read at the " + (at == End::controller ? "device" : "controller") +
                                ", but this signal is sent by the " + end_name +
                                "; send it there with a signal of its own, and write that signal here");
    } else if (const Signal* other = named(scenario.signals, source)) {
        if (!other->inverse_of.empty()) return problems.say(where, in_quotes(source) + second_bit_alone(*other));
        if (other->known_at(at)) return;
        if (other->elsewhere)
            return problems.say(where, in_quotes(source) +
                                           " is not carried by this link, and the device knows no other; write a "
                                           "signal that this link brings it");
        problems.say(where, in_quotes(source) + " is sent by the " + end_name +
                                " itself; write a safeguard read there, or a signal that it receives");
    } else {
        std::vector<Safeguard> all = scenario.safeguards;
        for (const Signal& s : scenario.signals) all.push_back({.name = s.name, .where = s.where});
        problems.say(where, in_quotes(source) + " is neither a safeguard nor a signal" +
                                (scenario.modes.empty() ? "" : " nor a mode") +
                                nearest_to(all, source, "write a [[safeguard]] first"));
    }
}

/// Says which signal depends on itself: takes away, again and again, those whose sources are all settled.
void check_circles(const Scenario& scenario, Problems& problems) {
    std::vector<bool> settled(scenario.signals.size(), false);
    for (std::size_t round = 0; round < scenario.signals.size(); ++round) {
        for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
            const std::vector<std::string> sources = sources_of(scenario.signals[i]);
            settled[i] =
                settled[i] || std::all_of(sources.begin(), sources.end(), [&](const std::string& source) {
                    const Signal* other = named(scenario.signals, source);
                    return other == nullptr || settled[static_cast<std::size_t>(other - scenario.signals.data())];
                });
        }
    }
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        if (settled[i]) continue;
        problems.say({scenario.signals[i].where.line, scenario.signals[i].where.key + ".all_of"},
                     in_quotes(scenario.signals[i].name) +
                         " depends on itself through other signals, so it would stay 0 for ever; take one of them out");
    }
}

/// Two safeguards of no function, read where the signal is computed.
void read_muting(Section& section, const Scenario& scenario, Signal& signal) {
    std::optional<Section> table = section.table("muted_by");
    if (!table) return;
    const std::vector<std::string> sensors = table->texts("sensors");
    if (!table->has("sensors")) table->missing("sensors", R"(["belt_in", "belt_out"])");
    Muting muting;
    muting.order_within =
        table->duration("order_within", Section::Zero::refused, proto::seconds(600)).value_or(Duration{});
    if (!table->has("order_within")) table->missing("order_within", "\"4 s\"");
    muting.at_most = table->duration("at_most", Section::Zero::refused, proto::seconds(3600)).value_or(Duration{});
    if (!table->has("at_most")) table->missing("at_most", "\"60 s\"");
    table->finish();
    if (table->wrong() || section.wrong("direction")) return;
    if (sensors.size() != 2 || sensors[0] == sensors[1])
        return table->say("sensors", "names " + std::to_string(sensors.size()) + "; write two different ones");
    if (table->in_doubt({"safeguard"})) return;
    for (const std::string& name : sensors) {
        const Safeguard* sensor = named(scenario.safeguards, name);
        if (sensor == nullptr)
            return table->say("sensors", in_quotes(name) + " is no safeguard" +
                                             nearest_to(scenario.safeguards, name, "write a [[safeguard]] first"));
        if (sensor->no_function.empty())
            return table->say("sensors", in_quotes(name) +
                                             " mutes and guards nobody; write function = \"none\" and a "
                                             "reason there");
        if (!signal.elsewhere && sensor->at != sender(signal.direction))
            return table->say("sensors",
                              in_quotes(name) + " is not read where the signal is computed; write one that is");
    }
    muting.first = sensors[0];
    muting.second = sensors[1];
    signal.muted_by = std::move(muting);
}

/// What the signal is made of, unless it is the second bit of a pair, which its first one says.
void read_sources(Section& section, const Scenario& scenario, Signal& signal) {
    signal.all_of = section.texts("all_of");
    signal.any_of = section.texts("any_of");
    read_in_mode(section, scenario, signal.in_mode);
    signal.off_delay = section.duration("off_delay", Section::Zero::refused, proto::seconds(600)).value_or(Duration{});
    read_muting(section, scenario, signal);
    signal.inverse_of = section.text("inverse_of").value_or("");
    signal.discrepancy =
        section.duration("discrepancy", Section::Zero::refused, proto::seconds(60)).value_or(Duration{});
    if (section.has("inverse_of")) {
        if (signal.inverse_of.empty()) section.say("inverse_of", "names nothing; write the first signal of the pair");
        if (!section.has("discrepancy")) section.missing("discrepancy", "\"100 ms\"");
        for (const char* key : {"all_of", "any_of", "in_mode", "off_delay", "muted_by"})
            if (section.has(key))
                section.say(key,
                            "means nothing for the second bit of a pair, which is sent as the complement of the "
                            "first; take it away, or write it at " +
                                in_quotes(signal.inverse_of));
        return;
    }
    if (section.has("discrepancy"))
        section.say("discrepancy", "means something with inverse_of only, at the second bit of a pair; take it away");
    if (!section.has("all_of") && !section.has("any_of")) section.missing("all_of", "[\"front_curtain\"]");
    for (const char* key : {"all_of", "any_of"})
        if (section.has(key) && !section.wrong(key) && section.texts(key).empty())
            section.say(key, "is empty; write what the signal is made of, such as [\"front_curtain\"]");
}

/// What is wrong with the pair of which `signals[index]` is the second bit; empty if nothing is.
std::string wrong_with_pair(const std::vector<Signal>& signals, std::size_t index) {
    const Signal& second = signals[index];
    const std::string first_name = in_quotes(second.inverse_of);
    const Signal* first = named(signals, second.inverse_of);
    if (first == nullptr)
        return first_name + " is no signal" + nearest_to(signals, second.inverse_of, "write a [[signal]] first");
    if (first == &second) return first_name + " is this signal itself; write the one that it is the complement of";
    if (!first->inverse_of.empty())
        return first_name + " is itself the second bit of a pair; write the first one, " + in_quotes(first->inverse_of);
    if (first->elsewhere != second.elsewhere)
        return first_name +
               " is carried by another link, and both bits of a pair go in one telegram; write the same link";
    if (first->direction != second.direction)
        return first_name + " goes the other way, and both bits of a pair go in one telegram; write direction = \"" +
               (first->direction == Direction::to_device ? "to-device" : "to-controller") + "\", or another signal";
    if (const Signal* other = second_of(signals, first->name); other != &second)
        return first_name + " has its second bit already, " + in_quotes(other->name) + " (line " +
               std::to_string(other->where.line) + "); take one of them out";
    return {};
}

}  // namespace

std::string second_bit_alone(const Signal& second) {
    return " is the second bit of a pair: its 0 asks for nothing, and a link that stops makes it 0; write the first "
           "one, " +
           in_quotes(second.inverse_of) + ", which is read with it";
}

void read_signals(Section& top, Scenario& scenario) {
    std::vector<Place> source_places;
    for (Section& section : top.tables("signal")) {
        if (too_many(scenario.signals, section, "signals")) return;
        Signal signal;
        signal.elsewhere = section.node().elsewhere;
        signal.where = section.place();
        signal.name = read_name(section);
        const auto direction = section.choice<Direction>(
            "direction", {{"to-device", Direction::to_device}, {"to-controller", Direction::to_controller}});
        if (!section.has("direction")) section.missing("direction", R"("to-device" or "to-controller")");
        signal.direction = direction.value_or(Direction::to_device);
        read_sources(section, scenario, signal);
        section.finish();
        is_new_name(scenario.signals, signal.name, section);
        if (const Safeguard* safeguard = named(scenario.safeguards, signal.name)) {
            section.say("name", in_quotes(signal.name) + " is a safeguard too (line " +
                                    std::to_string(safeguard->where.line) + "); write another name");
        }
        source_places.push_back(section.place(section.has("inverse_of") ? "inverse_of"
                                              : section.has("all_of")   ? "all_of"
                                                                        : "any_of"));
        scenario.signals.push_back(std::move(signal));
    }
    if (top.in_doubt(
            {"signal.name", "signal.direction", "signal.inverse_of", "safeguard.name", "safeguard.at", "mode.name"}))
        return;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        if (scenario.signals[i].inverse_of.empty()) continue;
        const std::string wrong = wrong_with_pair(scenario.signals, i);
        if (!wrong.empty()) top.problems().say(source_places[i], wrong);
    }
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        if (scenario.signals[i].elsewhere) continue;  // read with its own link
        for (const std::string& source : sources_of(scenario.signals[i])) {
            check_source(scenario, scenario.signals[i], source, source_places[i], top.problems());
        }
    }
    check_circles(scenario, top.problems());
}

}  // namespace sim
