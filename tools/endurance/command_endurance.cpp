// linkdrill endurance FILE --years Y: how often does this link stop for nothing?
#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string>

#include <unistd.h>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/endurance.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/endurance/cell_endurance.hpp"
#include "tools/endurance/endurance_page.hpp"
#include "tools/endurance/price.hpp"
#include "tools/program/command.hpp"
#include "tools/program/console.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/log.hpp"
#include "tools/program/one_link.hpp"
#include "tools/program/reachable.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr double years_least = 1e-4;  // under an hour a start of the link would weigh too much
constexpr double years_most = 1e6;
constexpr double seconds_most = 3600.0;  ///< of computing

std::uint64_t rounded(double value) { return static_cast<std::uint64_t>(std::llround(value)); }

/// What is longer is refused: a typing error should not cost a night.
std::string in_words(double seconds) {
    const double hours = seconds / 3600.0;
    if (hours > 24.0 * 700.0) return grouped(static_cast<std::uint64_t>(hours / (24.0 * 365.25)) + 1) + " years";
    if (hours > 48.0) return grouped(rounded(hours / 24.0)) + " days";
    if (hours > 2.0) return grouped(rounded(hours)) + " hours";
    if (seconds > 120.0) return grouped(rounded(seconds / 60.0)) + " minutes";
    return counted(rounded(seconds), "second", "seconds");
}

proto::Result<double, Failure> years_of(const Arguments& arguments) {
    const std::optional<std::string> typed = arguments.value("--years");
    const std::string mend = "write a number of years, 0.0001 to 1000000";
    if (!typed) return usage("--years", "missing; " + mend);
    double years = 0.0;
    const auto [end, error] = std::from_chars(typed->data(), typed->data() + typed->size(), years);
    const bool whole = error == std::errc{} && end == typed->data() + typed->size() && std::isfinite(years);
    if (!whole) return usage("--years", in_quotes(*typed) + " is no number; " + mend);
    if (years < years_least || years > years_most)
        return usage("--years", in_quotes(*typed) + " is out of range; " + mend);
    return years;
}

/// Shows how far the work is, on standard error: on a terminal in one line, else now and then.
class Progress final : public sim::EnduranceMonitor {
  public:
    enum class Shown : std::uint8_t { no, yes };
    explicit Progress(Shown shown) : shown_(shown), terminal_(::isatty(STDERR_FILENO) == 1) {}
    ~Progress() {
        if (drawn_) std::fputs("\r\x1b[K", stderr);
    }
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

    bool go_on(double done) override {
        const double passed = std::chrono::duration<double>(Clock::now() - begun_).count();
        if (shown_ == Shown::yes && passed >= next_) {
            next_ = passed + (terminal_ ? 0.5 : 10.0);
            std::string text = std::to_string(static_cast<int>(done * 100.0)) + " % of the years simulated";
            if (done > 0.005) text += ", about " + in_words(passed / done * (1.0 - done)) + " left";
            if (terminal_) {
                std::fputs(("\r\x1b[K" + text).c_str(), stderr);
                drawn_ = true;
            } else {
                write_error_line(text);
            }
        }
        return !interrupt_.came();
    }
    [[nodiscard]] bool interrupted() const { return interrupt_.came(); }

  private:
    using Clock = std::chrono::steady_clock;
    NoteInterrupt interrupt_;
    Shown shown_;
    bool terminal_;
    bool drawn_ = false;
    Clock::time_point begun_ = Clock::now();
    double next_ = 2.0;  ///< s; nobody needs to be told of less
};

/// Quiet time is passed over as if every telegram were like the one before.
std::optional<Failure> values_stand_still(const sim::Scenario& scenario) {
    for (const sim::SafeValue& value : scenario.values.all)
        if (value.source.kind != sim::ValueSource::Kind::constant)
            return Failure{Status::bad_input, scenario.file, value.where.line, value.where.key,
                           "changes by itself, and quiet years are passed over as if nothing did; write is = ..., or "
                           "rehearse it with linkdrill run"};
    return std::nullopt;
}

/// A rough figure is enough for what takes no time.
sim::EnduranceOutlook outlook_of(const sim::Scenario& scenario, double years, std::uint64_t seed) {
    constexpr double worth_measuring = 2.0;
    sim::EnduranceOutlook outlook = sim::endurance_outlook(scenario);
    if (years * outlook.seconds_per_year > worth_measuring)
        outlook.seconds_per_year = measured_seconds_per_year(scenario, outlook, seed);
    return outlook;
}

Failure too_many_years(const Request& request, const sim::EnduranceOutlook& outlook, double seconds) {
    const std::string typed = request.arguments.value("--years").value_or("");
    std::string message = in_quotes(typed) + " years would take about " + in_words(seconds);
    if (!outlook.why.empty()) message += ", since every cycle has to be simulated (" + outlook.why + ")";
    const double possible = seconds_most * request.jobs / outlook.seconds_per_year;
    // rounded down to one digit that counts
    double digit = 1e-4;
    while (digit * 10.0 <= possible) digit *= 10.0;
    const std::string most = scalar_text(Value(std::floor(possible / digit) * digit));
    return usage("--years", message + "; write at most " + most + ", for an hour" +
                                (request.jobs == 1 ? ", or give it more processors with --jobs" : ""));
}

/// On as many processors as there are parts for.
double seconds_for(const Request& request, double years, const sim::EnduranceOutlook& outlook) {
    const double at_once = static_cast<double>(std::min<std::uint64_t>(request.jobs, sim::parts_of_years(years).count));
    return years * outlook.seconds_per_year / at_once;
}

bool is_met(EnduranceVerdict verdict) {
    return verdict == EnduranceVerdict::pass || verdict == EnduranceVerdict::undecided;
}

/// Each link by itself, as it is in a cell too; their rates add up.
proto::Result<Finished, Failure> run_links(const Request& request, const sim::WholeCell& cell, double years) {
    const std::uint64_t seed = request.seed.value_or(cell.seed);
    if (auto failure = cannot_reach(cell)) return std::move(*failure);
    std::vector<sim::EnduranceOutlook> outlooks;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::Scenario& scenario = cell.links[i].alone;
        if (auto failure = values_stand_still(scenario)) return std::move(*failure);
        outlooks.push_back(outlook_of(scenario, years, sim::seed_of_link(seed, i)));
        const double seconds = seconds_for(request, years, outlooks.back());
        if (seconds > seconds_most) return too_many_years(request, outlooks.back(), seconds);
    }
    std::vector<sim::EnduranceResult> results;
    bool cut_short = false;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        log_line("simulating link " + cell.links[i].name);
        Progress progress(request.arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes);
        results.push_back(sim::endure({cell.links[i].alone, sim::seed_of_link(seed, i), sim::parts_of_years(years),
                                       outlooks[i].method, request.jobs},
                                      progress));
        cut_short = cut_short || (results.back().parts_done < results.back().parts_wanted && progress.interrupted());
    }
    std::vector<EnduranceFinding> of_links;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        of_links.push_back(finding_of(cell.links[i].alone, results[i], outlooks[i], sim::seed_of_link(seed, i), years));
    const CellEndurance found = finding_of(cell, std::move(of_links));
    const sim::Scenario of_file = cell.of_file();
    Finished finished{Status::done, with_provenance(describe(found), of_file), page_of(found, request.columns)};
    const bool met = is_met(found.verdict) && std::all_of(found.links.begin(), found.links.end(),
                                                          [](const auto& one) { return is_met(one.verdict); });
    finished.status = cut_short ? Status::interrupted : met ? Status::done : Status::not_met;
    if (auto failure = keep_if_asked(request.out, "endurance", finished.document, page_of(found, Columns{})))
        return *failure;
    return finished;
}

proto::Result<Finished, Failure> run_link(const Request& request, const sim::Scenario& scenario,
                                          const std::string& file, double years) {
    if (auto failure = cannot_reach(scenario)) return std::move(*failure);
    if (auto failure = values_stand_still(scenario)) return std::move(*failure);
    const std::uint64_t seed = request.seed.value_or(scenario.seed);
    const sim::EnduranceOutlook outlook = outlook_of(scenario, years, seed);
    constexpr double worth_telling = 20.0;
    const double seconds = seconds_for(request, years, outlook);
    if (seconds > worth_telling && seconds <= seconds_most && !request.arguments.has("--quiet"))
        write_error_line("takes about " + in_words(seconds) + " on " +
                         counted(std::min<std::uint64_t>(request.jobs, sim::parts_of_years(years).count), "processor",
                                 "processors") +
                         ", as measured just now; Ctrl-C keeps the parts that are finished");
    if (seconds > seconds_most) return too_many_years(request, outlook, seconds);

    log_line("simulating " + scalar_text(Value(years)) + " years of " + file + ", seed " + std::to_string(seed));
    const auto begun = std::chrono::steady_clock::now();
    Progress progress(request.arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes);
    const sim::EnduranceResult result =
        sim::endure({scenario, seed, sim::parts_of_years(years), outlook.method, request.jobs}, progress);
    log_line("simulated in " +
             std::to_string(std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count()) + " s");

    const EnduranceFinding found = finding_of(scenario, result, outlook, seed, years);
    Finished finished{Status::done, with_provenance(describe(found), scenario), page_of(found, request.columns)};
    // all parts finished before the signal was seen: nothing was lost
    const bool cut_short = result.parts_done < result.parts_wanted && progress.interrupted();
    finished.status = cut_short ? Status::interrupted : is_met(found.verdict) ? Status::done : Status::not_met;
    if (auto failure = keep_if_asked(request.out, "endurance", finished.document, page_of(found, Columns{})))
        return *failure;
    return finished;
}

proto::Result<Finished, Failure> run(const Request& request) {
    const auto years = years_of(request.arguments);
    if (!years) return years.error();
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (given.value().is_profile())
        return Failure{
            Status::bad_input, file, 0, {}, "is a telegram profile, it has no link to simulate; name a scenario"};
    if (given.value().has_several_links() && !request.arguments.has("--link")) {
        const auto cell = given.value().cell();
        if (!cell) return cell.error();
        return run_links(request, cell.value(), years.value());
    }
    const auto read = one_link(given.value(), request.arguments);
    if (!read) return read.error();
    return run_link(request, read.value(), file, years.value());
}

}  // namespace

Command endurance_command() {
    return {
        .name = "endurance",
        .group = Command::Group::then,
        .does = "simulate years of the link and count its stops for nothing",
        .positional = {"FILE", "scenario; its faults and demands are left out", PositionalSpec::Need::required},
        .options = {link_option(), {"--years", "Y", "years to simulate, 0.0001 to 1000000; a year has 365.25 days"}},
        .example = "linkdrill endurance scenarios/veneer_press/second_error_stops.toml --years 10",
        .notes =
            {"The channel's own delays, losses and bit errors act, and the operator acknowledges as the scenario "
             "says. Cycles in which nothing happens are passed over by the exact law of the channel; what lies "
             "between is simulated in full.",
             "The interval is the exact one of a Poisson count, 95 %. Status 1 if the stops a year are over "
             "trips_per_year of [limit], one in ten years if that is not stated.",
             "Of a file with several links each is simulated and held against its own limit, their rates add up, and "
             "the sum is held against trips_per_year of the file's own [limit], if it states one; --link names "
             "one link.",
             "The years are cut into parts of a month or more with seeds of their own, so --jobs changes nothing "
             "but the time. Ctrl-C keeps the parts that were finished. With --out the result is written there."},
        .run = run,
    };
}

}  // namespace tools
