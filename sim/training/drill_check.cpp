#include "sim/training/drill_check.hpp"

#include <algorithm>

#include "sim/training/words.hpp"

namespace sim {
namespace {

std::string words(const Panel& panel) {
    return panel.name + ": " + std::string(id_of(panel.state)) + ", " +
           (panel.cause ? std::string(id_of(*panel.cause)) : "no cause");
}

void check_end(const ExpectedEnd& expected, const Panel& panel, std::vector<std::string>& broken) {
    if (expected.state && *expected.state != panel.state)
        broken.push_back(words(panel) + "; promised is " + std::string(id_of(*expected.state)));
    const std::string cause = panel.cause ? std::string(id_of(*panel.cause)) : "none";
    if (!expected.causes.empty() &&
        std::find(expected.causes.begin(), expected.causes.end(), cause) == expected.causes.end())
        broken.push_back(words(panel) + "; promised is " + expected.causes.front());
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const std::string measure(proto::name_of(static_cast<proto::Measure>(i)));
        const bool should =
            std::find(expected.rejected.begin(), expected.rejected.end(), measure) != expected.rejected.end();
        if (should == (panel.counters.rejected[i] > 0)) continue;
        broken.push_back(panel.name + ": rejected by " + measure + " is " + std::to_string(panel.counters.rejected[i]) +
                         (should ? "; promised is that it moves" : "; promised is that it stays 0"));
    }
    if (expected.receives && *expected.receives != (panel.received_per_second > 0))
        broken.push_back(panel.name + ": receives " + std::to_string(panel.received_per_second) +
                         " telegrams in a second; promised is " + (*expected.receives ? "some" : "none"));
}

void check_first(End first, const Bench& bench, std::vector<std::string>& broken) {
    const auto own = bench.first_stop(first);
    const auto others = bench.first_stop(proto::other(first));
    if (!own || (others && *others <= *own))
        broken.push_back(bench.panel(first).name + " did not stop first, as promised");
}

}  // namespace

std::unique_ptr<Bench> bench_of(const Drill& drill, std::uint64_t seed) {
    auto bench = std::make_unique<Bench>(drill.scenario, seed);
    bench->run_until(proto::Instant{} + record_begins(drill));
    bench->begin_record();
    bench->run_until(proto::Instant{} + drill.comes_after);
    return bench;
}

std::vector<std::string> broken_promises(const Drill& drill, const Bench& bench) {
    std::vector<std::string> broken;
    const ExpectedShow& expect = drill.expect;
    for (const End end : {End::controller, End::device})
        check_end(expect.ends[static_cast<std::size_t>(end)], bench.panel(end), broken);
    if (expect.first) check_first(*expect.first, bench, broken);
    const bool asked = bench.panel(End::controller).asks_for_acknowledgement;
    if (asked != expect.request)
        broken.push_back(std::string("an acknowledgement is ") + (asked ? "" : "not ") +
                         "asked for; promised is the opposite");
    if (bench.machine_moves() != expect.moves)
        broken.push_back(std::string("the machine ") + (expect.moves ? "stands still" : "moves") +
                         "; promised is the opposite");
    if (expect.neighbour_runs) {
        const auto neighbour = bench.neighbour(End::device);
        if (!neighbour || (neighbour->state == proto::State::running) != *expect.neighbour_runs)
            broken.push_back(std::string("the neighbour ") + (*expect.neighbour_runs ? "does not run" : "runs") +
                             "; promised is the opposite");
    }
    for (const SignalShown& signal : bench.signals()) {
        const bool should =
            std::find(expect.signals_off.begin(), expect.signals_off.end(), signal.name) != expect.signals_off.end();
        if (should && signal.sent) broken.push_back("signal " + signal.name + " is 1; promised is 0");
    }
    return broken;
}

}  // namespace sim
