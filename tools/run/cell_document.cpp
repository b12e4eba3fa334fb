#include "tools/run/cell_document.hpp"

#include <algorithm>
#include <set>
#include <string>

#include "sim/scenario/units.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/describe_live.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/run/merged_cell.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

Value describe_far_stops(const sim::WholeCell& cell, const sim::CellResult& result, std::size_t link,
                         std::size_t injection) {
    Value::List machines;
    for (const sim::FarStop& stop : result.far_stops) {
        if (stop.link != link || stop.injection != injection) continue;
        machines.push_back(Value::Object{{"machine", cell.links[stop.machine_link].alone.machine->name},
                                         {"link", cell.links[stop.machine_link].name},
                                         {"stopped_by", cell.links[link].name},
                                         {"moved", stop.moved},
                                         {"reduced_ms", Value::of(stop.reduced)},
                                         {"standstill_ms", Value::of(stop.standstill)},
                                         {"allowed_ms", Value::of(stop.allowed)},
                                         {"within_limit", stop.within_limit},
                                         {"why", Value::text_or_null(stop.why)}});
    }
    return machines;
}

/// What a link showed by itself, without what the whole cell tells better.
Value describe_link(const sim::WholeCell& cell, const sim::CellResult& result, std::size_t i) {
    const sim::RunResult& link = result.links[i];
    const Value whole = describe(cell.links[i].alone, link);
    Value::Object out{{"name", cell.links[i].name}};
    for (const char* key : {"verdict", "digest", "cycles", "exchanges", "spurious_trips", "stops", "acknowledgements",
                            "link_started", "twin", "response", "machine", "machine_started", "dangerous", "ends"})
        out.push_back({key, look_up(whole, key)});
    if (whole.find("kept_apart") != nullptr) out.push_back({"kept_apart", look_up(whole, "kept_apart")});
    if (link.live)
        for (const char* key : {"network", "away"}) out.push_back({key, look_up(whole, key)});
    return out;
}

}  // namespace

CellCounts counts_of(const sim::WholeCell& cell, const sim::CellResult& result) {
    std::set<std::string> injected, not_fired, unexpected, dangerous;  // keys of their faults
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const sim::InjectionResult& one : result.links[i].injections) {
            const std::string& key = cell.links[i].alone.faults[one.fault].where.key;
            (one.outcome == sim::Outcome::not_fired ? not_fired : injected).insert(key);
            if (!one.as_expected) unexpected.insert(key);
            if (is_dangerous(one)) dangerous.insert(key);
        }
    return {injected.size(), not_fired.size(), injected.size() + not_fired.size() - unexpected.size(),
            std::max<std::size_t>(dangerous.size(), result.verdict == sim::RunVerdict::dangerous ? 1 : 0)};
}

Value describe_injection(const sim::WholeCell& cell, const sim::CellResult& result, std::size_t link,
                         std::size_t injection) {
    const Value described = describe_injection(cell.links[link].alone, result.links[link].injections[injection]);
    Value::Object out;
    for (const Value::Member& member : *described.object()) {
        out.push_back(member);
        if (member.key != "id") continue;
        out.push_back({"link", cell.links[link].name});
        const std::string& other =
            cell.links[link].alone.faults[result.links[link].injections[injection].fault].other_link;
        if (!other.empty()) out.push_back({"other_link", other});
    }
    out.push_back({"machines", describe_far_stops(cell, result, link, injection)});
    return out;
}

Value describe(const sim::WholeCell& cell, const sim::CellResult& result) {
    const MergedCell all = merged(cell, result);
    Value::List injections, links, safeguards, dangerous;
    std::uint64_t spurious = 0, stops = 0;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        for (std::size_t k = 0; k < result.links[i].injections.size(); ++k)
            injections.push_back(describe_injection(cell, result, i, k));
        links.push_back(describe_link(cell, result, i));
        spurious += result.links[i].spurious_trips;
        stops += result.links[i].stops;
        for (const sim::DangerousEvent& event : result.links[i].dangerous)
            dangerous.push_back(Value::Object{{"link", cell.links[i].name}, {"at_ms", event.at}, {"why", event.why}});
    }
    const CellCounts counts = counts_of(cell, result);
    const sim::RunResult& first = result.links.front();
    for (std::size_t i = 0; i < first.safeguards.size(); ++i)
        safeguards.push_back(Value::Object{{"name", cell.links.front().alone.safeguards[i].name},
                                           {"at", cell.station_of_safeguard(i)},
                                           {"state", name_of(first.safeguards[i].state)},
                                           {"discrepancies", first.safeguards[i].discrepancies}});
    Value::Object document{
        {"scenario", cell.file},
        {"title", cell.title},
        {"plant", cell.plant},
        {"version", LINKDRILL_VERSION},
        {"mode", result.live ? "live" : "virtual"},
        {"seed", result.seed},
        {"verdict", name_of(result.verdict)},
        {"as_expected", result.as_expected},
        {"digest", sim::written_hex(result.digest, 16)},
        {"counts", Value::Object{{"injected", counts.injected},
                                 {"not_fired", counts.not_fired},
                                 {"as_expected", counts.as_expected},
                                 {"dangerous", counts.dangerous}}},
        {"cycles", result.cycles},
        {"link_started", std::all_of(result.links.begin(), result.links.end(),
                                     [](const sim::RunResult& link) { return link.link_started; })},
        {"spurious_trips", spurious},
        {"stops", stops},
        {"twin", Value::Object{{"spurious_trips", result.twin_trips},
                               {"recovered", result.recovered},
                               {"why_not_recovered", Value::text_or_null(result.why_not_recovered)}}},
        {"time_scale", static_cast<std::uint64_t>(result.time_scale)},
        {"injections", std::move(injections)},
        {"demands", describe_demands(all.scenario, all.result)},
        {"functions", describe_functions(all.scenario, all.result)},
        {"links", std::move(links)},
        {"safeguards", std::move(safeguards)},
        {"dangerous", std::move(dangerous)},
        {"remarks", Value::list_of(result.remarks)},
    };
    if (result.live) document.push_back({"lateness_ms", describe_lateness(result.lateness, result.lateness_allowed)});
    return document;
}

}  // namespace tools
