#include "sim/reading/read_cell.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <utility>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/passed_on_values.hpp"
#include "sim/reading/stations_twice.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;

/// Tables of a file with one link, and where they belong in a cell.
struct Moved {
    const char* key;
    const char* where;
};
constexpr std::array moved{Moved{"device", "[link.device]"},
                           Moved{"bits", "[link.bits]"},
                           Moved{"values", "[link.values]"},
                           Moved{"channel", "[link.channel]"},
                           Moved{"required", "[link.required], and within in the [[function]]"},
                           Moved{"distance", "distance in the [[function]]"},
                           Moved{"stopping", "[machine.stopping]"},
                           Moved{"part", "[[link.part]]"},
                           Moved{"neighbour", "[link.neighbour]"}};

/// What nothing but the views of the links reads is known here.
void check_top(Section& top) {
    for (const char* key :
         {"title", "shows", "plant", "seed", "duration", "expect_verdict", "controller", "link", "machine", "safeguard",
          "mode", "signal", "function", "fault", "demand", "operator", "segment", "value", "limit"})
        static_cast<void>(top.has(key));
    if (std::optional<Section> controller = top.table("controller"))
        for (const char* key : {"bits", "values"})
            if (controller->has(key))
                controller->say(
                    key, "belongs to a link in a file with several; write [link.controller." + std::string(key) + "]");
    for (const Moved& one : moved)
        if (top.has(one.key))
            top.say(one.key, "belongs to a link or a machine in a file with several; write " + std::string(one.where));
}

/// What counts functions has a bit for each, over all machines together.
constexpr std::size_t functions_max = 64;

/// Every function's machines are there.
void check_functions(Section& top, const CellParts& parts) {
    std::vector<std::string> names;
    for (const CellParts::Machine& machine : parts.machines) names.push_back(machine.name);
    const auto check = [&](Section& row) {
        const std::optional<std::string> typed = row.text("machine");
        if (names.empty()) return row.say("must", "there is no machine that could; write a [[machine]]");
        if (!typed && names.size() > 1)
            return row.say("machine",
                           "is missing; write which machine must, such as machine = " + in_quotes(names.front()));
        if (typed && std::find(names.begin(), names.end(), *typed) == names.end())
            row.say("machine", in_quotes(*typed) + " is no machine; " + offered_for(*typed, names));
    };
    std::vector<std::string> taken;
    for (Section& function : top.tables("function")) {
        if (taken.size() == functions_max)
            return function.say("name", "is one too many; write at most 64 functions, of all machines together");
        const std::string name = function.text("name").value_or("");
        if (std::find(taken.begin(), taken.end(), name) != taken.end())
            function.say("name", in_quotes(name) + " is taken by another function; write another name");
        taken.push_back(name);
        const Node* must = function.find("must");
        if (must == nullptr || must->kind != Node::Kind::array) {
            check(function);
            continue;
        }
        for (Section& row : function.tables("must")) check(row);
    }
}

void read_segments(Section& top, const CellParts& parts, WholeCell& cell) {
    for (Section& section : top.tables("segment")) {
        Segment segment;
        segment.where = section.place();
        segment.name = section.text("name").value_or("");
        if (segment.name.empty()) section.missing("name", "\"hall switch\"");
        segment.source = section.text("source").value_or("");
        if (segment.source.empty()) section.missing("source", "\"drawing 12: a switch and a power supply of its own\"");
        const std::vector<std::string> names = section.texts("links");
        if (!section.has("links")) section.missing("links", "[" + in_quotes(parts.links.front().name) + "]");
        for (const std::string& name : names) {
            const auto found = std::find_if(parts.links.begin(), parts.links.end(),
                                            [&](const CellParts::Link& link) { return link.name == name; });
            if (found == parts.links.end())
                section.say("links", in_quotes(name) + " is no link; write names of [[link]] tables");
            else
                segment.links.push_back(static_cast<std::size_t>(found - parts.links.begin()));
        }
        if (section.has("links") && names.empty()) section.say("links", "is empty; write the links that are on it");
        for (const Segment& other : cell.segments)
            if (other.name == segment.name)
                section.say("name", in_quotes(segment.name) + " is taken by another segment; write another name");
        for (std::size_t i = 0; i < names.size(); ++i)
            if (std::find(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(i), names[i]) !=
                names.begin() + static_cast<std::ptrdiff_t>(i))
                section.say("links", in_quotes(names[i]) + " stands there twice; write it once");
        section.finish();
        cell.segments.push_back(std::move(segment));
    }
}

/// What may be stated for the sum of all links; the rest of a [limit] is of one of them.
void read_sum_limit(Section& top, WholeCell& cell) {
    std::optional<Section> limit = top.table("limit");
    if (!limit) return;
    if (limit->has("one_way_delay"))
        limit->say("one_way_delay", "belongs to a link in a file with several; write it in [link.limit]");
    const auto trips = number_in(*limit, "trips_per_year", 1e-9, 1e9, "0.1");
    limit->finish();
    if (trips) cell.trip_limit = {.per_year = *trips, .stated = true};
}

void say_in_file(const Problems& found, const LinkDocument& document, const std::string& link, Problems& problems) {
    for (FileError error : found.all()) {
        if (error.file == problems.file()) error.key = key_in_file(document, error.key);
        if (error.key.starts_with("link[")) error.message = "of " + in_quotes(link) + " " + error.message;
        problems.say(std::move(error));
    }
}

/// Where a key of a link's own view may stand in the whole file: what is typed at the controller for all links, or for
/// that one.
std::vector<std::string> keys_in_file(const LinkDocument& own, std::size_t link, const std::string& key) {
    std::vector<std::string> all{key_in_file(own, key)};
    if (key.starts_with("controller.")) all.push_back("link[" + std::to_string(link + 1) + "]." + key);
    return all;
}

/// The links one after the other; what is wrong in all of them is told once.
void read_links(const Node& document, const CellParts& parts, WholeCell& cell, Problems& problems) {
    for (std::size_t i = 0; i < parts.links.size(); ++i) {
        const LinkDocument own = document_of_link(document, parts, i);
        Problems found(problems.file());
        EarsElsewhere ears(problems.ears(), [&own, i](const std::string& key) { return keys_in_file(own, i, key); });
        found.tell(&ears);
        CellLink link;
        link.name = parts.links[i].name;
        link.alone = scenario_from(own.node, problems.file(), found);
        link.where = {document.find("link")->items[i].line, "link[" + std::to_string(i + 1) + "]"};
        for (Fault& fault : link.alone.faults) fault.where.key = key_in_file(own, fault.where.key);
        for (SafeValue& value : link.alone.values.all) value.where.key = key_in_file(own, value.where.key);
        say_in_file(found, own, link.name, problems);
        cell.links.push_back(std::move(link));
    }
}

/// The controller's scan, if it is typed.
std::optional<Duration> read_scan(Section& top) {
    std::optional<Section> controller = top.table("controller");
    if (!controller) return std::nullopt;
    return controller->duration("scan", Zero::refused, proto::seconds(10));
}

/// One scan of the controller serves all links, each in its own cycle.
void check_scan(Section& top, const std::optional<Duration>& typed, WholeCell& cell) {
    std::int64_t common = 0;
    for (const CellLink& link : cell.links) common = std::gcd(common, link.alone.controller.link.cycle.ns);
    cell.scan = typed.value_or(Duration{common});
    for (const CellLink& link : cell.links) {
        const Duration cycle = link.alone.controller.link.cycle;
        if (cell.scan.ns == 0 || cycle.ns % cell.scan.ns == 0) continue;
        top.problems().say({link.where.line, link.where.key + ".cycle"},
                           "of " + in_quotes(link.name) + ": " + written(cycle) +
                               " is no whole multiple of the controller's scan of " + written(cell.scan) +
                               "; write one that is");
    }
}

/// The functions as written, put together from what each machine's link has of them.
void gather_functions(WholeCell& cell) {
    for (const CellLink& link : cell.links)
        for (const SafetyFunction& share : link.alone.functions) {
            const auto known = std::find_if(cell.functions.begin(), cell.functions.end(),
                                            [&](const SafetyFunction& one) { return one.name == share.name; });
            if (known == cell.functions.end())
                cell.functions.push_back(share);
            else
                known->must.insert(known->must.end(), share.must.begin(), share.must.end());
        }
    std::sort(cell.functions.begin(), cell.functions.end(),
              [](const SafetyFunction& a, const SafetyFunction& b) { return a.where.line < b.where.line; });
    for (SafetyFunction& function : cell.functions)
        std::sort(function.must.begin(), function.must.end(),
                  [](const MustReact& a, const MustReact& b) { return a.where.line < b.where.line; });
}

/// A guard that reaches a signal by several of its any_of: only the slowest of these ways takes it away, and which one
/// that is nobody reckons.
void check_any_of(const WholeCell& cell, Problems& problems) {
    const Scenario& first = cell.links.front().alone;
    for (const Signal& signal : first.signals)
        for (const Safeguard& guard : first.safeguards) {
            unsigned ways = 0;
            for (const std::string& source : signal.any_of) {
                std::uint64_t made = 0;
                for (std::size_t i = 0; i < first.signals.size(); ++i)
                    if (first.signals[i].name == source) made = made_of(first.signals, std::uint64_t{1} << i);
                bool comes = source == guard.name;
                for (std::size_t i = 0; i < first.signals.size(); ++i)
                    comes = comes || ((made >> i & 1) != 0 && is_made_of(first.signals[i], guard.name));
                ways += comes ? 1U : 0U;
            }
            if (ways > 1)
                return problems.say({signal.where.line, signal.where.key + ".any_of"},
                                    in_quotes(guard.name) + " comes by " + std::to_string(ways) +
                                        " of these ways, and only the slowest takes the signal away, which is not "
                                        "reckoned with; let each guard come by one");
        }
}

/// What the controller lets fall later has no bound yet where another link brings it.
void check_off_delays(const WholeCell& cell, Problems& problems) {
    for (const CellLink& link : cell.links) {
        const std::vector<Signal>& signals = link.alone.signals;
        for (std::size_t i = 0; i < signals.size(); ++i) {
            if (signals[i].elsewhere || signals[i].off_delay == Duration{}) continue;
            const std::uint64_t sources = made_of(signals, std::uint64_t{1} << i);
            for (std::size_t source = 0; source < signals.size(); ++source)
                if ((sources >> source & 1) != 0 && signals[source].elsewhere)
                    return problems.say({signals[i].where.line, signals[i].where.key + ".off_delay"},
                                        in_quotes(signals[source].name) +
                                            " comes from another link, and a delay on top of it is not reckoned with; "
                                            "let the drive time its ramp, and take off_delay away");
        }
    }
}

/// No bound is known of a demand that crosses one link, then another, and the first one again.
void check_ways(const WholeCell& cell, Problems& problems) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const Safeguard& guard : cell.links[i].alone.safeguards) {
            const std::vector<WayOverLink> ways = way_over_links(cell, i, guard.name);
            for (std::size_t a = 0; a < ways.size(); ++a)
                for (std::size_t b = 0; b < a; ++b)
                    if (ways[a].link == ways[b].link)
                        return problems.say(guard.where,
                                            "the way of a demand of " + in_quotes(guard.name) + " crosses link " +
                                                in_quotes(cell.links[ways[a].link].name) +
                                                ", others, and the same again, of which no bound is known; "
                                                "let the controller pass it on at once");
        }
}

bool acknowledges_all(const Node& document) {
    const Node* acts = document.find("operator");
    return acts != nullptr && std::any_of(acts->items.begin(), acts->items.end(), [](const Node& act) {
               const Node* link = act.find("link");
               return link != nullptr && link->text == "all";
           });
}

std::vector<Duration> typed_holds(const Node& document, const Scenario& first) {
    std::vector<Duration> holds;
    const Node* safeguards = document.find("safeguard");
    for (std::size_t i = 0; i < first.safeguards.size(); ++i) {
        const bool typed = safeguards->items[i].find("minimum_hold") != nullptr;
        holds.push_back(typed ? first.safeguards[i].minimum_hold : Duration{});
    }
    return holds;
}

}  // namespace

WholeCell cell_from(const Node& document, const std::string& path, Problems& problems) {
    WholeCell cell;
    cell.file = path;
    Section top(document, "", problems);
    check_top(top);
    const CellParts parts = cell_parts(top);
    if (!problems.any()) check_functions(top, parts);
    if (!problems.any()) read_segments(top, parts, cell);
    if (!problems.any()) read_sum_limit(top, cell);
    top.finish();
    if (problems.any()) return cell;
    const std::optional<Duration> scan = read_scan(top);
    read_links(document, parts, cell, problems);
    if (problems.any()) return cell;
    check_scan(top, scan, cell);
    const Scenario& first = cell.links.front().alone;
    cell.title = first.title;
    cell.shows = first.shows;
    cell.plant = first.plant;
    cell.seed = first.seed;
    cell.duration = first.duration;
    cell.expect_verdict = first.expect_verdict;
    cell.safeguards = parts.safeguards;
    cell.signals = parts.signals;
    cell.acknowledges_all = acknowledges_all(document);
    cell.minimum_holds = typed_holds(document, first);
    complete_links(cell);
    mark_stations_twice(cell);
    check_passed_on(problems, cell);
    check_ways(cell, problems);
    check_any_of(cell, problems);
    check_off_delays(cell, problems);
    gather_functions(cell);
    return cell;
}

bool has_several_links(const std::string& path) {
    const proto::Result<Node, FileError> document = read_document(path);
    return document && is_cell(document.value());
}

bool has_several_links_in(const std::string& text, const std::string& path) {
    const proto::Result<Node, FileError> document = document_from(text, path);
    return document && is_cell(document.value());
}

namespace {

proto::Result<WholeCell, FileError> first_of(const proto::Result<Node, FileError>& document, const std::string& path) {
    if (!document) return document.error();
    Problems problems(path);
    WholeCell cell = cell_from(document.value(), path, problems);
    if (problems.any()) return problems.first();
    return cell;
}

}  // namespace

proto::Result<WholeCell, FileError> read_cell(const std::string& path) { return first_of(read_document(path), path); }

proto::Result<WholeCell, FileError> cell_in(const std::string& text, const std::string& path) {
    return first_of(document_from(text, path), path);
}

}  // namespace sim
