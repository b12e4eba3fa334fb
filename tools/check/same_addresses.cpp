#include "tools/check/same_addresses.hpp"

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <string>
#include <utility>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/typed_address.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/given_file.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

struct Station {
    sim::TypedAddress address;
    std::string name, file;
};

void add_ends(const sim::Scenario& scenario, const std::string& file, std::vector<Station>& stations) {
    for (const sim::TypedEnd* end : {&scenario.controller, &scenario.device}) {
        const bool known = std::any_of(stations.begin(), stations.end(), [&](const Station& one) {
            return one.file == file && one.name == end->name && one.address.value == end->link.own_address;
        });
        if (!known) stations.push_back({end->own_address(), end->name, file});
    }
}

/// Nothing of what is no scenario, or could not be read: that is told by itself.
std::vector<Station> stations_in(const CheckedFile& file) {
    std::vector<Station> stations;
    // standard input can be read once
    if (!file.failures.empty() || file.file == standard_input) return stations;
    const auto given = GivenFile::of(file.file);
    if (!given || given.value().kind() != sim::FileKind::scenario) return stations;
    if (!given.value().has_several_links()) {
        if (const auto scenario = given.value().scenario()) add_ends(scenario.value(), file.file, stations);
        return stations;
    }
    if (const auto cell = given.value().cell())
        for (const sim::CellLink& link : cell.value().links) add_ends(link.alone, file.file, stations);
    return stations;
}

Value with_problem(const Value& document, const std::string& problem) {
    Value::Object changed;
    if (const Value::Object* members = document.object()) changed = *members;
    for (Value::Member& member : changed) {
        if (member.key == "ok") member.value = Value(false);
        if (member.key != "problems" || member.value.list() == nullptr) continue;
        Value::List problems = *member.value.list();
        problems.emplace_back(problem);
        member.value = Value(std::move(problems));
    }
    return Value(std::move(changed));
}

}  // namespace

void find_same_addresses(std::vector<CheckedFile>& files) {
    std::vector<Station> before;
    for (CheckedFile& file : files) {
        std::vector<Station> own = stations_in(file);
        for (const Station& station : own) {
            const auto same = std::find_if(before.begin(), before.end(), [&](const Station& other) {
                return other.address.value == station.address.value && other.name != station.name;
            });
            if (same == before.end()) continue;
            const std::string problem = "the address " + sim::in_both_bases(station.address) + " of " + station.name +
                                        " is also that of " + same->name + " in " + same->file +
                                        "; see the design which of them has it, and give the other one its own";
            file.findings.push_back({.rule = Finding::Rule::problem, .file = file.file, .key = {}, .message = problem});
            file.document = with_problem(file.document, problem);
            file.status = std::max(file.status, Status::not_met);
        }
        std::move(own.begin(), own.end(), std::back_inserter(before));
    }
}

}  // namespace tools
