// linkdrill response FILE: adds up the response time and gets the distance.
#include <algorithm>
#include <atomic>
#include <chrono>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include <unistd.h>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_worst_seen.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tools/program/command.hpp"
#include "tools/program/console.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/log.hpp"
#include "tools/program/one_link.hpp"
#include "tools/program/reachable.hpp"
#include "tools/response/function_response.hpp"
#include "tools/response/response_page.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// Fewer where a placing is long: some ten seconds in all at most.
std::uint64_t placings_for(const sim::Scenario& scenario) {
    constexpr std::uint64_t most = 12'000, least = 100, scans_in_all = 20'000'000;
    const proto::LinkSettings &c = scenario.controller.link, &d = scenario.device.link;
    const auto longest = static_cast<std::uint64_t>(std::max(c.watchdog, d.watchdog).ns);
    const auto scan = static_cast<std::uint64_t>(std::min(c.scan, d.scan).ns);
    return std::clamp(scans_in_all / (longest / scan * 10 + 1), least, most);
}

/// Each moves several links.
constexpr std::uint64_t placings_over_links = 3'000;

/// Plain lines on standard error, one every ten seconds: most searches are over before the first.
class Progress {
  public:
    void tell(std::uint64_t done, std::uint64_t of) {
        using std::chrono::steady_clock;
        const auto passed = std::chrono::duration_cast<std::chrono::seconds>(steady_clock::now() - begin_).count();
        std::int64_t told = told_.load();
        if (passed < told + 10 || !told_.compare_exchange_strong(told, passed)) return;
        const auto left = static_cast<std::uint64_t>(passed) * (of - done) / done;
        write_error_line("response: " + std::to_string(done) + " of " + std::to_string(of) + " placings, " +
                         std::to_string(left) + " s left");
    }

  private:
    std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
    std::atomic<std::int64_t> told_{0};
};

ResponseFound respond_without_functions(const sim::Scenario& scenario, const sim::SearchEffort& effort) {
    ResponseFound found;
    found.response = sim::response_of(scenario);
    found.distance = sim::distance_of(scenario, found.response);
    found.kept = sim::requirements_kept(scenario, found.response);
    found.longest = sim::longest_watchdog(scenario);
    const bool at_device = !scenario.machine || scenario.machine->at == sim::End::device;
    found.anything_stated = (scenario.distance && scenario.distance->there_um) || scenario.required.overall ||
                            (at_device ? scenario.required.to_device : scenario.required.to_controller);
    if (found.response.no_way) {
        found.kept = {false, "the guard of [distance] does not reach the output"};
        found.anything_stated = true;
    }
    found.seen = sim::search_worst(scenario, effort);

    // What was added up holds for no link that does not start, and for no demand that does not arrive.
    if (!found.seen.link_started)
        found.kept = {false, "the link does not start with these settings"};
    else if (!found.seen.reaches)
        found.kept = {false, "the demand does not reach the output even without a fault"};
    found.anything_stated = found.anything_stated || !found.kept.kept;
    return found;
}

using Search = std::function<sim::WorstSeen(const sim::Scenario&)>;

/// The document and the page, and a copy of both in the folder if one was asked for.
template <class PageOf>
proto::Result<Finished, Failure> told(const Request& request, bool good, const Value& document, PageOf page) {
    Finished finished{good ? Status::done : Status::not_met, document, page(request.columns)};
    if (auto failure = keep_if_asked(request.out, "response", finished.document, page(Columns{}))) return *failure;
    return finished;
}

/// The search for one demand over all links that it crosses.
void search_over_links(const sim::WholeCell& cell, std::size_t link, const sim::SearchEffort& effort,
                       FunctionResponse& one) {
    const sim::CellWorstSeen seen = sim::search_worst(cell, link, one.time.safeguard, effort);
    one.found.over_links = {seen.response, seen.tried, seen.never, sim::words_of(cell, seen)};
    if (!seen.response)
        one.found.kept = {false,
                          "the demand does not reach the output even without a fault: a link on its way does "
                          "not start, or a bit map differs"};
}

/// Every function of every machine in one table each.
proto::Result<Finished, Failure> respond_for_cell(const Request& request, const sim::WholeCell& cell,
                                                  sim::SearchEffort effort, std::optional<std::uint64_t> placings) {
    FunctionResponses all;
    std::vector<sim::FunctionTime> times;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::CellLink& link = cell.links[i];
        if (link.alone.functions.empty()) continue;
        const auto crosses = [&](const std::string& safeguard) {
            return sim::way_over_links(cell, i, safeguard).size() > 1;
        };
        const Search search = [&](const sim::Scenario& seen_by) {
            if (crosses(seen_by.demands.front().safeguard)) return sim::WorstSeen{.placing = {}, .link_started = true};
            effort.placings = placings.value_or(placings_for(seen_by));
            return sim::search_worst(seen_by, effort);
        };
        FunctionResponses found = respond_for_functions(link.alone, search);
        effort.placings = placings.value_or(placings_over_links);
        for (FunctionResponse& one : found.all)
            if (crosses(one.time.safeguard)) search_over_links(cell, i, effort, one);
        if (all.tables.kept) all.tables = found.tables;
        for (FunctionResponse& one : found.all) {
            times.push_back(one.time);
            all.all.push_back(std::move(one));
        }
    }
    if (all.all.empty())
        return Failure{Status::bad_input, cell.file, 0, "function",
                       "there is none, and of several links only functions say which ways count; write a [[function]], "
                       "or name a link with --link"};
    all.decides = static_cast<std::size_t>(sim::tightest(times) - times.data());
    const sim::Scenario of_file = cell.of_file();
    return told(request, all.good(), with_provenance(describe(of_file, all), of_file),
                [&](Columns columns) { return page_of(of_file, all, columns); });
}

proto::Result<Finished, Failure> respond_for_link(const Request& request, const sim::Scenario& scenario,
                                                  const sim::SearchEffort& effort, const Search& search) {
    if (!scenario.functions.empty()) {
        const FunctionResponses found = respond_for_functions(scenario, search);
        return told(request, found.good(), with_provenance(describe(scenario, found), scenario),
                    [&](Columns columns) { return page_of(scenario, found, columns); });
    }
    const ResponseFound found = respond_without_functions(scenario, effort);
    return told(request, found.kept.kept && found.seen_within_bound(),
                with_provenance(describe(scenario, found), scenario),
                [&](Columns columns) { return page_of(scenario, found, columns); });
}

proto::Result<Finished, Failure> respond(const Request& request) {
    const auto placings = request.arguments.number("--placings", 100, 100'000'000);
    if (!placings) return placings.error();
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (given.value().is_profile())
        return Failure{Status::bad_input, file, 0, {}, "is a telegram profile; name a scenario"};
    log_line("searching for the worst response of " + file);
    Progress progress;
    sim::SearchEffort effort{.placings = 0, .jobs = request.jobs};
    if (!request.arguments.has("--quiet"))
        effort.progress = [&](std::uint64_t done, std::uint64_t of) { progress.tell(done, of); };
    const Search search = [&](const sim::Scenario& seen_by) {
        effort.placings = placings.value().value_or(placings_for(seen_by));
        return sim::search_worst(seen_by, effort);
    };
    if (given.value().has_several_links() && !request.arguments.has("--link")) {
        const auto cell = given.value().cell();
        if (!cell) return cell.error();
        if (auto failure = cannot_reach(cell.value())) return std::move(*failure);
        return respond_for_cell(request, cell.value(), effort, placings.value());
    }
    const auto read = one_link(given.value(), request.arguments);
    if (!read) return read.error();
    if (auto failure = cannot_reach(read.value())) return std::move(*failure);
    effort.placings = placings.value().value_or(placings_for(read.value()));
    return respond_for_link(request, read.value(), effort, search);
}

}  // namespace

Command response_command() {
    return {
        .name = "response",
        .group = Command::Group::use_first,
        .does = "add up the response time and get the distance",
        .positional = {"FILE", "scenario", PositionalSpec::Need::required},
        .options = {link_option(),
                    {"--placings", "N", "placings of a fault episode to simulate; 12000, or fewer where each is long"}},
        .without = {"--seed"},
        .example = "linkdrill response scenarios/veneer_press/all_errors.toml",
        .notes =
            {"From the demand to the output command runs the response, from there to the end of the hazard the",
             "stopping time; the distance uses their sum:",
             "  demand | sensor | scan | link | scan | output command | drive | stop | end of the hazard",
             "         '------------- response -------------'------ stopping ------'",
             "One fault at a time: the link then takes two watchdogs and a scan, never one watchdog. \"Seen\" is the",
             "longest that a search in the full simulation found, with telegrams late, and then lost.",
             "[[function]], [distance], [stopping], [[part]] and [limit] of the scenario say what stands where; with",
             "functions there is one table for each, of its slowest safeguard.",
             "A vertical axis drops before its brake grips: measure its stop, as measured in [stopping]."},
        .run = respond,
    };
}

}  // namespace tools
