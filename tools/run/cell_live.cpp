// What was typed for a live run of a cell.
#include "tools/run/cell_live.hpp"

#include <algorithm>
#include <string_view>
#include <utility>

#include "sim/plant/machine.hpp"
#include "sim/scenario/nearest.hpp"
#include "tools/program/given_file.hpp"
#include "tools/run/live_asked.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::string_view device_before = "device:";

/// What may be typed for --as.
std::vector<std::string> part_names(const sim::WholeCell& cell) {
    std::vector<std::string> names{"controller", "channel"};
    for (const sim::CellLink& link : cell.links) names.push_back(std::string(device_before) + link.alone.device.name);
    return names;
}

proto::Result<sim::CellPart, Failure> part_named(const sim::WholeCell& cell, const std::string& typed) {
    const std::vector<std::string> names = part_names(cell);
    std::string all;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (names[i] == typed && i >= 2) return sim::CellPart{sim::Part::device, i - 2};
        if (names[i] == typed) return sim::CellPart{i == 0 ? sim::Part::controller : sim::Part::channel, 0};
        all += (i == 0 ? "" : i + 1 == names.size() ? " or " : ", ") + ("\"" + names[i] + "\"");
    }
    return usage("--as", "\"" + typed + "\" is no part of this cell; nearest is \"" +
                             names[sim::nearest_of(typed, names)] + "\"; write " + all);
}

std::string stations_of(const sim::WholeCell& cell) {
    std::string names;
    for (const sim::CellLink& link : cell.links) names += (names.empty() ? "" : ", ") + link.alone.device.name;
    return names;
}

proto::Result<std::vector<sim::Address>, Failure> peers_of(const Request& request, const sim::WholeCell& cell,
                                                           const sim::CellPart& part) {
    const bool channel = part.part == sim::Part::channel;
    const std::size_t wanted = channel ? cell.links.size() + 1 : 1;
    const auto typed = request.arguments.value("--peer");
    if (!typed)
        return usage("--peer", channel
                                   ? "is missing; write the addresses of the controller and of all devices, CONTROLLER"
                                     ",DEVICE,..., the devices in the order of the links: " +
                                         stations_of(cell)
                                   : "is missing; write the channel's address, for example 127.0.0.1:4700");
    std::vector<sim::Address> peers;
    for (std::size_t begin = 0; begin <= typed->size();) {
        const std::size_t comma = std::min(typed->find(',', begin), typed->size());
        const std::string text = typed->substr(begin, comma - begin);
        const std::size_t place = peers.size();  // the controller, then the devices in the order of the links
        const auto one = !channel || place > cell.links.size() ? live_address(request, "--peer", text)
                         : place == 0
                             ? live_address_of_end(request, "--peer", text, cell.links.front().alone.controller)
                             : live_address_of_end(request, "--peer", text, cell.links[place - 1].alone.device);
        if (!one) return one.error();
        peers.push_back(one.value());
        begin = comma + 1;
    }
    if (peers.size() == wanted) return peers;
    if (!channel) return usage("--peer", "an end has one peer, the channel; write for example 127.0.0.1:4700");
    return usage("--peer",
                 "the channel of this cell has " + std::to_string(wanted) + " peers, not " +
                     std::to_string(peers.size()) +
                     "; write CONTROLLER,DEVICE,..., the devices in the order of the links: " + stations_of(cell));
}

proto::Result<sim::CellPartOptions, Failure> part_options(const Request& request, const sim::WholeCell& cell) {
    sim::CellPartOptions options;
    const auto part = part_named(cell, request.arguments.value("--as").value_or(""));
    if (!part) return part.error();
    if (request.arguments.value("FILE") == standard_input)
        return usage("--as", "needs the scenario as a file, the same for all parts; name one in place of -");
    options.part = part.value();
    const auto listen = request.arguments.value("--listen");
    if (!listen)
        return usage("--listen", "is missing; write the address of this part, for example --listen 127.0.0.1:4701");
    const sim::Scenario& alone = cell.links[part.value().link].alone;
    const sim::Part kind = part.value().part;
    const auto own = kind == sim::Part::channel
                         ? live_address(request, "--listen", *listen)
                         : live_address_of_end(request, "--listen", *listen,
                                               kind == sim::Part::controller ? alone.controller : alone.device);
    if (!own) return own.error();
    options.listen = own.value();
    const auto peers = peers_of(request, cell, options.part);
    if (!peers) return peers.error();
    options.peers = peers.value();
    return options;
}

/// In virtual time a drive knows that a link failed which is not its own, and then takes a start; on the wire it sees a
/// signal that falls and returns. Where that signal stops the machine it takes a start anyway.
std::optional<Failure> slows_by_another_link(const sim::WholeCell& cell) {
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::Scenario& alone = cell.links[i].alone;
        if (!alone.machine) continue;
        for (const sim::MachineReaction& reaction : alone.machine->reactions) {
            if (sim::command_of(reaction.stop) != sim::DriveCommand::reduce) continue;
            const auto found = std::find_if(alone.signals.begin(), alone.signals.end(),
                                            [&](const sim::Signal& one) { return one.name == reaction.signal; });
            const auto signal = static_cast<std::size_t>(found - alone.signals.begin());
            const std::uint64_t sources = sim::made_of(alone.signals, std::uint64_t{1} << signal);
            for (std::size_t s = 0; s < alone.signals.size(); ++s)
                if ((sources >> s & 1) != 0 && cell.signals[s] != i)
                    return Failure{Status::bad_input, cell.file, alone.signals[signal].where.line,
                                   alone.signals[signal].where.key,
                                   "lets " + alone.machine->name +
                                       " go at reduced speed by what another link brings, of whose failure its drive "
                                       "knows nothing in a live run; take --live away"};
        }
    }
    return std::nullopt;
}

/// A person does not become slower with the machine: of some distances no time can be told that stands in for them.
std::optional<Failure> cannot_be_slowed(const sim::WholeCell& cell) {
    for (const sim::SafetyFunction& function : cell.functions) {
        if (!function.distance || !function.distance->there_um) continue;
        const bool of_one = !function.distance->safeguard.empty() && function.safeguards.size() > 1;
        if (of_one || !function.slowed_by.empty())
            return Failure{
                Status::bad_input, cell.file, function.where.line, function.where.key,
                "has a distance of one of its guards, or from reduced speed, which counts at the plant's own "
                "pace only; take --times-slower away"};
    }
    return std::nullopt;
}

std::optional<Failure> cannot_be_live(const sim::WholeCell& cell) {
    for (const sim::CellLink& link : cell.links)
        if (auto failure = tools::cannot_be_live(link.alone)) return failure;
    return slows_by_another_link(cell);
}

}  // namespace

proto::Result<CellOutcome, Failure> run_live_cell(const Request& request, const sim::WholeCell& as_written,
                                                  std::uint64_t seed, const std::string& folder) {
    if (auto failure = cannot_be_live(as_written)) return *failure;
    const auto slower = times_slower(request);
    if (!slower) return slower.error();
    for (const sim::CellLink& link : as_written.links)
        if (auto failure = too_slow(link.alone, slower.value())) return *failure;
    if (slower.value() != 1)
        if (auto failure = cannot_be_slowed(as_written)) return *failure;
    CellOutcome outcome;
    outcome.cell = std::make_unique<const sim::WholeCell>(sim::slowed(as_written, slower.value()));
    outcome.waiting = Page(request.columns);
    const auto links = static_cast<std::int64_t>(as_written.links.size());
    for (const sim::CellLink& link : outcome.cell->links)
        if (auto failure = cannot_be_joined(link.alone, telegrams_joined_most / links)) return *failure;
    const CellAsked asked{folder, seed, slower.value()};
    sim::LiveOptions options = live_options_of(request);
    if (request.arguments.has("--as")) {
        auto part = part_options(request, *outcome.cell);
        if (!part) return part.error();
        if (auto failure = run_one_cell_part(outcome, asked, std::move(part).value(), std::move(options)))
            return *failure;
        return outcome;
    }
    for (const char* alone : {"--listen", "--peer"})
        if (request.arguments.has(alone))
            return usage(alone,
                         "belongs to --as; write --as with a part: \"controller\", \"channel\" or a \"device:\"");
    // before the run: it may last a day, and what it finds must have a place
    if (auto failure = claim_folder(folder)) return *failure;
    const auto parts = sim::run_live_cell(*outcome.cell, seed, options);
    if (!parts) return machine_said_no("", parts.error().message);
    join_cell_records(outcome, asked, parts.value(), true);
    return outcome;
}

}  // namespace tools
