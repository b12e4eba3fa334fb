#include "tools/program/one_link.hpp"

#include <optional>
#include <utility>
#include <vector>

#include "sim/scenario/nearest.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tools/program/reachable.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

std::string names_of(const sim::WholeCell& cell) {
    std::string names;
    for (const sim::CellLink& link : cell.links) names += (names.empty() ? "" : ", ") + plain(link.name);
    return names;
}

/// A function over a link that never runs has no time, whatever the chosen link does.
std::optional<Failure> crosses_unreachable(const sim::WholeCell& cell, const sim::Scenario& view) {
    for (const sim::OutsidePart& part : view.outside_parts)
        if (const std::size_t crossed = cell.link_called(part.link); crossed < cell.links.size())
            if (auto failure = cannot_reach(cell.links[crossed].alone)) return failure;
    return std::nullopt;
}

}  // namespace

OptionSpec link_option() { return {"--link", "NAME", "which link, of a file with several"}; }

proto::Result<std::size_t, Failure> chosen_link(const sim::WholeCell& cell, const std::string& name) {
    const std::size_t link = cell.link_called(name);
    if (link < cell.links.size()) return link;
    std::vector<std::string> names;
    for (const sim::CellLink& one : cell.links) names.push_back(one.name);
    return usage("--link", in_quotes(name.substr(0, 60)) + " is no link of " + plain(cell.file) + "; nearest is \"" +
                               plain(names[sim::nearest_of(name, names)]) + "\"");
}

proto::Result<sim::Scenario, Failure> one_link(const GivenFile& given, const Arguments& arguments) {
    const std::optional<std::string> name = arguments.value("--link");
    if (!given.has_several_links()) {
        if (name) return usage("--link", "this file has one link; leave the option out");
        return given.scenario();
    }
    const auto cell = given.cell();
    if (!cell) return cell.error();
    if (!name)
        return Failure{Status::bad_input, given.name(), 0, "link",
                       "has " + std::to_string(cell.value().links.size()) +
                           " links; name one with --link: " + names_of(cell.value())};
    const auto link = chosen_link(cell.value(), *name);
    if (!link) return link.error();
    sim::Scenario view = sim::decisive_view(cell.value(), link.value());
    if (auto failure = crosses_unreachable(cell.value(), view)) return std::move(*failure);
    return view;
}

}  // namespace tools
