// linkdrill watchdog FILE: how often does the plant stop for nothing, with which watchdog, and which ones are usable?
#include <algorithm>
#include <chrono>

#include "sim/odds/channel_cautions.hpp"
#include "sim/odds/window.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tools/program/command.hpp"
#include "tools/program/console.hpp"
#include "tools/program/ends_apart.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/log.hpp"
#include "tools/program/one_link.hpp"
#include "tools/program/reachable.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"
#include "tools/watchdog/cell_watchdog.hpp"
#include "tools/watchdog/watchdog_page.hpp"

namespace tools {
namespace {

using proto::Duration;

constexpr std::int64_t points_most = 1000;
constexpr Duration longest_watchdog = proto::seconds(3600);

/// A duration typed after an option, in whole microseconds; nothing if it was not typed.
proto::Result<std::optional<Duration>, Failure> duration_of(const Request& request, std::string_view option) {
    const std::optional<std::string> typed = request.arguments.value(option);
    if (!typed) return std::optional<Duration>{};
    const std::string where(option);
    const auto read = sim::parse_quantity(*typed, sim::duration_units());
    constexpr std::int64_t microsecond = 1000;
    if (!read) return usage(where, in_quotes(*typed) + " is no duration; write a number and a unit, such as \"15 ms\"");
    if (read.value() <= 0) return usage(where, in_quotes(*typed) + " is not above 0; write such as \"15 ms\"");
    if (read.value() % microsecond != 0)
        return usage(where, in_quotes(*typed) + " is finer than a microsecond; write whole microseconds");
    if (read.value() > longest_watchdog.ns) return usage(where, in_quotes(*typed) + " is over an hour; write less");
    return std::optional<Duration>{Duration{read.value()}};
}

struct Range {
    std::optional<Duration> from, to, step;
};

proto::Result<Range, Failure> range_of(const Request& request, const sim::Scenario& scenario) {
    Range range;
    struct Wanted {
        std::string_view option;
        std::optional<Duration>& into;
    };
    for (const Wanted& wanted : {Wanted{"--from", range.from}, {"--to", range.to}, {"--step", range.step}}) {
        const auto read = duration_of(request, wanted.option);
        if (!read) return read.error();
        wanted.into = read.value();
    }
    const Duration cycle = scenario.controller.link.cycle;
    if (range.from && *range.from <= cycle)
        return usage("--from", sim::written(*range.from) + " is not over the cycle (" + sim::written(cycle) +
                                   "); a watchdog must be longer than that");
    if (range.to && *range.to <= cycle)
        return usage("--to", sim::written(*range.to) + " is not over the cycle (" + sim::written(cycle) +
                                 "); a watchdog must be longer than that");
    if (range.from && range.to && *range.from > *range.to)
        return usage("--from", sim::written(*range.from) + " is after --to (" + sim::written(*range.to) +
                                   "), so no watchdog is left; exchange them");
    return range;
}

void put_in_order(std::vector<Duration>& points) {
    std::sort(points.begin(), points.end());
    points.erase(std::unique(points.begin(), points.end()), points.end());
}

/// What was not typed is filled in: so that the window and a little on either side is seen in about a dozen points.
proto::Result<std::vector<Duration>, Failure> points_of(Range range, const sim::Scenario& scenario,
                                                        const sim::WindowEnds& ends) {
    const Duration cycle = scenario.controller.link.cycle;
    constexpr std::int64_t about = 12, margin = 2;
    const Duration low = ends.lowest.value_or(cycle * (margin + 2));
    const Duration high = ends.highest.value_or(low + cycle * (about / 2));
    const bool nothing_typed = !range.from && !range.to && !range.step;
    const auto whole = [&](Duration time) {
        return Duration{std::max<std::int64_t>(time.ns / cycle.ns, 2) * cycle.ns};
    };
    if (!range.from) range.from = whole(std::min(std::min(low, high), range.to.value_or(low)) - cycle * margin);
    if (!range.to) range.to = std::max(*range.from, whole(std::max(low, high) + cycle * margin));
    if (*range.to < *range.from) range.from = *range.to;
    if (!range.step) {
        const std::int64_t cycles = (*range.to - *range.from).ns / cycle.ns;
        range.step = cycle * std::max<std::int64_t>(1, (cycles + about - 1) / about);
    }
    const std::int64_t count = (*range.to - *range.from).ns / range.step->ns + 1;
    if (count > points_most) {
        constexpr std::int64_t microsecond = 1000;
        const std::int64_t least = ((*range.to - *range.from).ns / (points_most - 1) / microsecond + 1) * microsecond;
        return usage("--step", sim::written(*range.step) + " from " + sim::written(*range.from) + " to " +
                                   sim::written(*range.to) + " gives " + grouped(static_cast<std::uint64_t>(count)) +
                                   " watchdogs, over " + std::to_string(points_most) + "; write \"" +
                                   sim::written(Duration{least}) + "\" or more");
    }
    std::vector<Duration> points;
    for (std::int64_t i = 0; i < count; ++i) points.push_back(*range.from + *range.step * i);
    if (nothing_typed) {
        points.push_back(scenario.controller.link.watchdog);
        points.push_back(scenario.device.link.watchdog);
        if (ends.lowest && *ends.lowest < *range.from) points.push_back(*ends.lowest);
        put_in_order(points);
    }
    return points;
}

/// Says on standard error how far it is, once that takes longer than people like to wait without a word.
class Progress {
  public:
    explicit Progress(bool silent) : silent_(silent) {}
    void doing(const std::string& what) {
        log_line(what);
        tell("watchdog: " + what);
    }
    void done(std::size_t count, std::size_t all) {
        const double spent = seconds();
        const double left = spent / static_cast<double>(count) * static_cast<double>(all - count);
        tell("watchdog: " + std::to_string(count) + " of " + std::to_string(all) + " watchdogs, about " +
             std::to_string(static_cast<long>(left + 1.0)) + " s left");
    }
    void restart() { begin_ = Clock::now(); }

  private:
    using Clock = std::chrono::steady_clock;
    [[nodiscard]] double seconds() const { return std::chrono::duration<double>(Clock::now() - begin_).count(); }
    void tell(const std::string& line) {
        constexpr double patience = 2.0;
        const double now = std::chrono::duration<double>(Clock::now() - first_).count();
        if (silent_ || now - told_ < patience) return;
        told_ = now;
        write_error_line(line);
    }
    bool silent_;
    Clock::time_point first_ = Clock::now(), begin_ = first_;
    double told_ = 0.0;
};

/// Rows, window and what stands above them, all out of the same odds.
void reckon(const sim::Scenario& scenario, std::vector<Duration> watchdogs, bool with_suggested,
            const sim::OddsEffort& effort, sim::OddsByWatchdog& odds, Progress& progress, WatchdogFindings& found) {
    progress.restart();
    odds.reckon(watchdogs, [&](std::size_t done) { progress.done(done, watchdogs.size()); });
    found.window = sim::watchdog_window(scenario, odds, effort, [&](const std::string& what) { progress.doing(what); });
    if (with_suggested && found.window.suggested) {
        watchdogs.push_back(*found.window.suggested);
        put_in_order(watchdogs);
    }
    odds.reckon(watchdogs, [](std::size_t) {});
    for (const Duration watchdog : watchdogs) found.points.push_back(sim::watchdog_point(scenario, watchdog, odds));
    const bool alike = scenario.controller.link.watchdog == scenario.device.link.watchdog;
    found.as_typed = alike ? odds.at(scenario.controller.link.watchdog) : sim::odds_as_typed(scenario, effort);
}

proto::Result<WatchdogFindings, Failure> find(const Request& request, const sim::Scenario& scenario) {
    if (auto failure = cannot_reach(scenario)) return std::move(*failure);
    if (auto apart = ends_apart(scenario, "no watchdog is usable there")) return *apart;
    const proto::Result<Range, Failure> range = range_of(request, scenario);
    if (!range) return range.error();
    if (range.value().from && range.value().to && range.value().step) {
        // known before anything is reckoned
        if (const auto points = points_of(range.value(), scenario, {}); !points) return points.error();
    }

    WatchdogFindings found;
    found.seed = request.seed.value_or(scenario.seed);
    found.neighbours = sim::neighbours_of(scenario);
    const sim::OddsEffort effort{
        .jobs = request.jobs, .seed = found.seed, .thorough = true, .blocks = found.neighbours.blocks};
    Progress progress(request.arguments.has("--quiet"));
    progress.doing("looking for the ends of the window");
    sim::OddsByWatchdog odds(scenario, effort);
    sim::seek_lowest(scenario, odds);
    const auto points = points_of(range.value(), scenario, sim::ends_of(scenario, odds));
    if (!points) return points.error();
    const bool nothing_typed = !range.value().from && !range.value().to && !range.value().step;
    reckon(scenario, points.value(), nothing_typed, effort, odds, progress, found);
    found.cautions = sim::cautions_about(scenario);
    for (std::string& words : in_words(found.neighbours)) found.cautions.push_back(std::move(words));
    const proto::LinkSettings& link = scenario.controller.link;
    if (link.exchange == proto::Exchange::polled)
        found.round_trip_over =
            sim::round_trip_above(sim::model_of(scenario), sim::longest_round_trip(link.watchdog, link.cycle));
    return found;
}

/// Each link by itself, the others as they are set.
proto::Result<Finished, Failure> of_cell(const Request& request, const GivenFile& given) {
    for (const char* option : {"--from", "--to", "--step"})
        if (request.arguments.has(option))
            return usage(option, "is of the table of one link; name it with --link, or leave the option out");
    const auto read = given.cell();
    if (!read) return read.error();
    const sim::WholeCell& cell = read.value();
    CellWatchdogs found{cell, {}};
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        sim::Scenario view = sim::decisive_view(cell, i);
        auto findings = find(request, view);
        if (!findings) return findings.error();
        found.links.push_back({std::move(view), std::move(findings).value()});
    }
    const Finished finished{found.all_open() ? Status::done : Status::not_met,
                            with_provenance(describe(found), cell.of_file()), page_of(found, request.columns)};
    if (auto failure = keep_if_asked(request.out, "watchdog", finished.document, page_of(found, Columns{})))
        return *failure;
    return finished;
}

proto::Result<Finished, Failure> watchdog(const Request& request) {
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (given.value().is_profile())
        return Failure{Status::bad_input, file, 0, {}, "is a telegram profile and has no watchdog; name a scenario"};
    if (given.value().has_several_links() && !request.arguments.has("--link")) return of_cell(request, given.value());
    const auto read = one_link(given.value(), request.arguments);
    if (!read) return read.error();
    const sim::Scenario& scenario = read.value();
    const auto findings = find(request, scenario);
    if (!findings) return findings.error();
    const WatchdogFindings& found = findings.value();
    const Finished finished{found.window.open() ? Status::done : Status::not_met,
                            with_provenance(describe(scenario, found), scenario),
                            page_of(scenario, found, request.columns)};
    if (auto failure = keep_if_asked(request.out, "watchdog", finished.document, page_of(scenario, found, Columns{})))
        return *failure;
    return finished;
}

}  // namespace

Command watchdog_command() {
    return {
        .name = "watchdog",
        .group = Command::Group::use_first,
        .does = "try watchdog times and find the usable ones",
        .positional = {"FILE", "scenario", PositionalSpec::Need::required},
        .options = {link_option(),
                    {"--from", "D", "shortest watchdog of the table"},
                    {"--to", "D", "longest watchdog of the table"},
                    {"--step", "D", "from one to the next"}},
        .example =
            "linkdrill watchdog scenarios/veneer_press/all_errors.toml --from \"15 ms\" --to \"95 ms\" --step "
            "\"10 ms\"",
        .notes = {"Of a file with several links each is tried by itself, the others as they are set, and a line tells "
                  "what is "
                  "left for it; --link names one for its table.",
                  "A stop for nothing is one without a demand and without a fault of the scenario: losses, delays and "
                  "flipped bits of the channel alone. Faults of the scenario do not act here.",
                  "The window is looked for whatever the table shows. Its lower end is the shortest watchdog that does "
                  "not stop the plant for nothing more often than [limit] says, its upper end the longest one that "
                  "keeps what the functions, the distance at hand and [required] state; the tightest is named."},
        .run = watchdog,
    };
}

}  // namespace tools
