#include "sim/measures/study.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <optional>

#include "proto/contract.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/numeric/helping_threads.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using proto::Measure;
using proto::milliseconds;

/// Shorter than a restarted link needs to say anything.
constexpr Duration looks_each = milliseconds(5);
constexpr unsigned attempts = 16;  ///< draws until an error finds something to act on

struct Seen {
    bool started = false;
    bool fired = false;
    bool dangerous = false;
    bool stopped_for_nothing = false;
    proto::MeasureSet measures;
};

/// Runs until something stopped the link: what a restart says besides is no longer about the error.
void run_to_stop(JudgedCell& cell, const Scenario& scenario) {
    const Instant end = Instant{} + scenario.duration;
    cell.run_until(Instant{} + (scenario.faults.empty() ? scenario.duration : *scenario.faults.front().at));
    while (cell.now() < end && cell.link().running()) cell.run_until(std::min(end, cell.now() + looks_each));
}

/// Late is never for what only makes time pass; any other error has happened once a wrong telegram is taken for right,
/// whatever is noticed afterwards.
bool too_late(const InjectionResult& injection) {
    return injection.outcome == Outcome::dangerous && injection.error != ErrorKind::loss &&
           injection.error != ErrorKind::delay;
}

Seen run_world(const Scenario& scenario, std::uint64_t seed) {
    Limits limits = limits_of(scenario).limits;
    limits.settle = scenario.duration;  // nothing else happens: whatever is seen is of this error
    JudgedRun run(scenario, seed, Faults::all, limits);
    run_to_stop(run.cell, scenario);
    RunResult result;
    run.finish(result, run.cell.now());
    Seen seen;
    seen.started = result.link_started;
    if (result.injections.empty()) {
        seen.stopped_for_nothing = result.spurious_trips != 0 || !run.cell.link().running();
        return seen;
    }
    const InjectionResult& injection = result.injections.front();
    seen.fired = injection.outcome != Outcome::not_fired;
    seen.dangerous = injection.outcome == Outcome::dangerous;
    if (!injection.detected_by || too_late(injection)) return seen;
    seen.measures = injection.also_by;
    seen.measures.add(*injection.detected_by);
    if (injection.owing_to) seen.measures.add(*injection.owing_to);
    return seen;
}

/// Whether it is the difference of the integrity systems that did it: with traffic of the link's own kind beside it
/// the CRC would have found nothing wrong.
bool owing_to_difference(const StudyLink& link, Scenario scenario, std::uint64_t seed, const Seen& seen) {
    if (scenario.faults.front().error != ErrorKind::masquerade) return false;  // no foreign CRC comes into it
    if (!link.measures.has(Measure::different_integrity) || !seen.measures.has(Measure::integrity)) return false;
    scenario.other_traffic_crc = link.controller.profile.crc;
    scenario.faults.front().way = FaultWay::other_crc;
    return !run_world(scenario, seed).measures.has(Measure::integrity);
}

/// Part of the stream of draws: the same for all links.
std::uint64_t part_of(std::size_t error, unsigned attempt, unsigned trial) {
    return static_cast<std::uint64_t>(error) << 40 | std::uint64_t{attempt} << 32 | trial;
}

Tally tally_of(const Seen& seen, const StudyLink& link, ErrorKind error) {
    Tally tally;
    tally.trials = 1;
    bool any = false, marked = false;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<Measure>(i);
        // a handshake has measures of its own, which are not looked at here
        if (!seen.measures.has(measure) || !link.measures.has(measure)) continue;
        tally.seen[i] = 1;
        any = true;
        marked = marked || published(Source::iec_62541_15, error, measure).value_or(false);
    }
    tally.seen_by_any = any ? 1 : 0;
    tally.late = any && seen.dangerous ? 1 : 0;
    tally.harmless = !any && !seen.dangerous ? 1 : 0;
    tally.missed = !any && seen.dangerous ? 1 : 0;
    tally.as_in_table_2 = marked ? 1 : 0;
    return tally;
}

struct Task {
    std::size_t link;
    std::size_t error;  ///< index in study_errors; their number: without an error
};

void try_error(const StudyLink& link, std::size_t index, const StudyEffort& effort, LinkFinding& finding) {
    ErrorFinding& found = finding.errors[index];
    found.error = study_errors[index];
    for (const StudyWay& way : ways_of(found.error, link)) found.ways.push_back({way, {}});
    for (unsigned trial = 0; trial < effort.trials; ++trial) {
        ErrorFinding::OfWay& of_way = found.ways[trial % found.ways.size()];
        StudyWay way = of_way.way;
        // traffic of the link's own kind never comes without its CRC
        if (link.other_traffic_crc && way.way == FaultWay::no_crc) way.way = FaultWay::other_crc;
        Seen seen;
        for (unsigned attempt = 0; attempt < attempts && !seen.fired; ++attempt) {
            TrialDraws draws(effort.seed, part_of(index, attempt, trial));
            Scenario scenario = scenario_of(link, draws);
            scenario.faults = {fault_of(way, link, draws)};
            const std::uint64_t seed = draws.any();
            seen = run_world(scenario, seed);
            if (!seen.started) break;
            if (owing_to_difference(link, scenario, seed, seen)) seen.measures.add(Measure::different_integrity);
        }
        if (!seen.fired) ++found.not_tried;
        const Tally tally = tally_of(seen, link, found.error);
        of_way.tally.add(tally);
        found.all.add(tally);
    }
}

void try_none(const StudyLink& link, const StudyEffort& effort, LinkFinding& finding) {
    for (unsigned trial = 0; trial < effort.trials; ++trial) {
        TrialDraws draws(effort.seed, part_of(study_error_count, 0, trial));
        const Scenario scenario = scenario_of(link, draws);
        const Seen seen = run_world(scenario, draws.any());
        LinkFinding::Control& control = finding.control;
        ++control.trials;
        if (seen.stopped_for_nothing) ++control.seen;
        if (!seen.started) ++control.not_started;
    }
}

}  // namespace

void Tally::add(const Tally& other) {
    trials += other.trials;
    for (std::size_t i = 0; i < seen.size(); ++i) seen[i] += other.seen[i];
    seen_by_any += other.seen_by_any;
    late += other.late;
    harmless += other.harmless;
    missed += other.missed;
    as_in_table_2 += other.as_in_table_2;
}

bool LinkFinding::sound() const {
    return control.seen == 0 && control.not_started == 0 &&
           std::all_of(errors.begin(), errors.end(), [](const ErrorFinding& e) { return e.not_tried == 0; });
}

std::vector<LinkFinding> study(const std::vector<StudyLink>& links, const StudyEffort& effort) {
    proto::require(effort.trials >= 1, "study() of no trials");
    std::vector<LinkFinding> findings(links.size());
    constexpr std::size_t tasks_each = study_error_count + 1;
    const std::size_t tasks = links.size() * tasks_each;
    std::atomic<std::size_t> next{0};
    std::size_t done = 0;
    std::mutex mutex;
    const auto work = [&] {
        for (std::size_t i = next++; i < tasks; i = next++) {
            const Task task{i / tasks_each, i % tasks_each};
            LinkFinding& finding = findings[task.link];
            if (task.error < study_error_count)
                try_error(links[task.link], task.error, effort, finding);
            else
                try_none(links[task.link], effort, finding);
            const std::lock_guard lock(mutex);
            ++done;
            if (effort.progress) effort.progress(static_cast<double>(done) / static_cast<double>(tasks));
        }
    };
    {
        const HelpingThreads others(std::max(effort.jobs, 1U) - 1, work);
        work();
    }
    return findings;
}

}  // namespace sim
