#include "sim/training/drill_check.hpp"

#include <algorithm>

#include "sim/training/words.hpp"

namespace sim {
namespace {

template <class List>
bool is_one_of(const List& list, const std::string& word) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

std::string in_quotes(const std::string& word) { return "\"" + word + "\""; }

std::string listed(const std::vector<std::string>& words, bool quoted) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : ", ") + (quoted ? in_quotes(word) : word);
    return text;
}

std::string key_of(End end) { return end == End::controller ? "controller" : "device"; }

std::string words(const Panel& panel) {
    return panel.name + ": " + std::string(id_of(panel.state)) + ", " +
           (panel.cause ? std::string(id_of(*panel.cause)) : "no cause");
}

/// A promise of yes or no.
Promise yes_or_no(const std::string& key, bool promised, bool shown, const char* yes, const char* no,
                  const std::string& broken) {
    return {key,
            promised ? yes : no,
            shown ? yes : no,
            promised == shown,
            broken + "; promised is the opposite",
            key + (shown ? " = true" : " = false")};
}

void check_state(const ExpectedEnd& expected, const Panel& panel, const std::string& end, std::vector<Promise>& all) {
    if (expected.dark || panel.dark) {
        Promise promise = yes_or_no(end + ".dark", expected.dark, panel.dark, "dark", "has its supply",
                                    panel.name + (panel.dark ? " is dark" : " has its supply"));
        promise.as_seen = panel.dark ? "dark = true" : "no dark";
        all.push_back(std::move(promise));
    }
    const std::string shown(id_of(panel.state)), cause = panel.cause ? std::string(id_of(*panel.cause)) : "none";
    if (expected.state) {
        const std::string promised(id_of(*expected.state));
        all.push_back({end + ".state", promised, shown, promised == shown, words(panel) + "; promised is " + promised,
                       "state = " + in_quotes(shown)});
    }
    if (!expected.causes.empty())
        all.push_back({end + ".cause", listed(expected.causes, false), cause, is_one_of(expected.causes, cause),
                       words(panel) + "; promised is " + expected.causes.front(),
                       panel.cause ? "cause = [" + in_quotes(cause) + "]" : "no cause"});
}

void check_counters(const ExpectedEnd& expected, const Panel& panel, const std::string& end,
                    std::vector<Promise>& all) {
    std::vector<std::string> moved;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (panel.counters.rejected[i] > 0) moved.emplace_back(proto::name_of(static_cast<proto::Measure>(i)));
    if (moved.empty() && expected.rejected.empty()) all.push_back({end + ".rejected", "none", "none", true, "", ""});
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const std::string measure(proto::name_of(static_cast<proto::Measure>(i)));
        const bool should = is_one_of(expected.rejected, measure), has = panel.counters.rejected[i] > 0;
        if (!should && !has) continue;
        const std::string count = std::to_string(panel.counters.rejected[i]);
        all.push_back({end + ".rejected", measure + (should ? " moves" : " stays 0"), measure + " " + count,
                       should == has,
                       panel.name + ": rejected by " + measure + " is " + count +
                           (should ? "; promised is that it moves" : "; promised is that it stays 0"),
                       "rejected = [" + listed(moved, true) + "]"});
    }
    if (!expected.receives) return;
    const std::string rate = std::to_string(panel.received_per_second);
    const bool receives = panel.received_per_second > 0;
    all.push_back({end + ".receives", *expected.receives ? "some" : "none", rate + " a second",
                   *expected.receives == receives,
                   panel.name + ": receives " + rate + " telegrams in a second; promised is " +
                       (*expected.receives ? "some" : "none"),
                   std::string("receives = ") + (receives ? "true" : "false")});
}

void check_first(End first, const Bench& bench, std::vector<Promise>& all) {
    const auto stop_of = [&](End end) { return bench.first_stop(end); };
    const auto own = stop_of(first), others = stop_of(proto::other(first));
    const bool kept = own && (!others || *own < *others);
    std::string shown = "neither stopped";
    if (own && others && *own == *others)
        shown = "both at the same time";
    else if (own || others)
        shown = key_of(kept ? first : proto::other(first));
    all.push_back({"first", key_of(first), shown, kept, bench.panel(first).name + " did not stop first, as promised",
                   own && others && *own == *others ? "no first"
                   : own || others                  ? "first = " + in_quotes(shown)
                                                    : "no first"});
}

/// What both ends show.
void check_link(const ExpectedShow& expect, const Bench& bench, std::vector<Promise>& all) {
    for (const End end : {End::controller, End::device}) {
        const ExpectedEnd& expected = expect.ends[static_cast<std::size_t>(end)];
        const Panel panel = bench.panel(end);
        check_state(expected, panel, key_of(end), all);
        check_counters(expected, panel, key_of(end), all);
    }
    if (expect.first) check_first(*expect.first, bench, all);
}

void check_request(const ExpectedShow& expect, const Bench& bench, std::vector<Promise>& all) {
    const bool asked = bench.panel(End::controller).asks_for_acknowledgement;
    all.push_back(yes_or_no("request", expect.request, asked, "asked for", "not asked for",
                            std::string("an acknowledgement is ") + (asked ? "" : "not ") + "asked for"));
}

/// The signals of all links.
std::vector<SignalShown> signals_of(const Bench& bench) {
    std::vector<SignalShown> all;
    for (std::size_t i = 0; i < bench.links(); ++i)
        for (SignalShown& one : bench.of_link(i).signals()) all.push_back(std::move(one));
    return all;
}

void check_plant(const Drill& drill, const Bench& bench, std::vector<Promise>& all) {
    const ExpectedShow& expect = drill.expect;
    if (!drill.cell) check_request(expect, bench, all);
    const bool moves = bench.anything_moves();
    all.push_back(yes_or_no("moves", expect.moves, moves, "moves", "stands still",
                            std::string("the machine ") + (moves ? "moves" : "stands still")));
    if (expect.neighbour_runs) {
        const auto neighbour = bench.neighbour(End::device);
        const bool runs = neighbour && neighbour->state == proto::State::running;
        all.push_back(yes_or_no("neighbour_runs", *expect.neighbour_runs, runs, "runs", "does not run",
                                std::string("the neighbour ") + (runs ? "runs" : "does not run")));
    }
    const std::vector<SignalShown> signals = signals_of(bench);
    for (const std::string& name : expect.signals_off) {
        const auto signal =
            std::find_if(signals.begin(), signals.end(), [&](const SignalShown& one) { return one.name == name; });
        const bool there = signal != signals.end(), kept = there && !signal->sent;
        all.push_back({"signals_off", name + " 0", there ? name + (signal->sent ? " 1" : " 0") : "no such signal", kept,
                       there ? "signal " + name + " is 1; promised is 0" : "there is no signal " + name,
                       "signals_off without " + in_quotes(name)});
    }
}

}  // namespace

std::unique_ptr<Bench> bench_of(const Drill& drill, std::uint64_t seed) {
    auto bench = drill.cell ? std::make_unique<Bench>(*drill.cell, drill.in_question, seed)
                            : std::make_unique<Bench>(drill.scenario, seed);
    bench->run_until(proto::Instant{} + record_begins(drill));
    bench->begin_record();
    bench->run_until(proto::Instant{} + drill.comes_after);
    return bench;
}

std::vector<Promise> promises_of(const Drill& drill, const Bench& bench) {
    std::vector<Promise> all;
    const ExpectedShow& expect = drill.expect;
    if (!drill.cell) check_link(expect, bench, all);
    for (std::size_t i = 0; i < expect.links.size(); ++i) {
        std::vector<Promise> of_link;
        check_link(expect.links[i], bench.of_link(i), of_link);
        check_request(expect.links[i], bench.of_link(i), of_link);
        const std::string& name = bench.of_link(i).link_name();
        for (Promise& promise : of_link) {
            promise.key = "link." + name + "." + promise.key;
            if (!promise.broken.empty()) promise.broken = "link " + name + ": " + promise.broken;
            all.push_back(std::move(promise));
        }
    }
    check_plant(drill, bench, all);
    return all;
}

std::vector<std::string> broken_promises(const Drill& drill, const Bench& bench) {
    std::vector<std::string> broken;
    for (const Promise& promise : promises_of(drill, bench))
        if (!promise.kept) broken.push_back(promise.broken);
    return broken;
}

}  // namespace sim
