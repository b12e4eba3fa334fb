#include "tools/run/live_run.hpp"

#include <utility>

#include "sim/live/live.hpp"
#include "tools/program/given_file.hpp"
#include "tools/run/live_asked.hpp"
#include "tools/run/live_join.hpp"
#include "tools/run/live_one_part.hpp"

namespace tools {
namespace {

constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};

std::optional<sim::Part> part_named(const std::string& name) {
    for (const sim::Part part : all_parts)
        if (name == name_of(part)) return part;
    return std::nullopt;
}

proto::Result<sim::PartOptions, Failure> part_options(const Request& request, const sim::Scenario& scenario) {
    sim::PartOptions options;
    const std::string as = request.arguments.value("--as").value_or("");
    const auto part = part_named(as);
    if (!part) return usage("--as", "\"" + as + "\" is no part; write controller, channel or device");
    if (request.arguments.value("FILE") == standard_input)
        return usage("--as", "needs the scenario as a file, the same for all three parts; name one in place of -");
    options.part = *part;
    const auto listen = request.arguments.value("--listen"), peer = request.arguments.value("--peer");
    if (!listen)
        return usage("--listen", "is missing; write the address of this part, for example --listen 127.0.0.1:4701");
    if (!peer)
        return usage("--peer", "is missing; write the channel's address, or, for the channel, CONTROLLER,DEVICE");
    const bool channel = *part == sim::Part::channel;
    const auto own = channel
                         ? live_address(request, "--listen", *listen)
                         : live_address_of_end(request, "--listen", *listen,
                                               *part == sim::Part::controller ? scenario.controller : scenario.device);
    if (!own) return own.error();
    options.listen = own.value();
    const std::size_t comma = peer->find(',');
    if ((comma != std::string::npos) != (*part == sim::Part::channel))
        return usage(
            "--peer",
            *part == sim::Part::channel
                ? "the channel has two peers; write CONTROLLER,DEVICE, for example 127.0.0.1:4701,127.0.0.1:4702"
                : "an end has one peer, the channel; write for example 127.0.0.1:4700");
    const auto first = channel ? live_address_of_end(request, "--peer", peer->substr(0, comma), scenario.controller)
                               : live_address(request, "--peer", *peer);
    if (!first) return first.error();
    options.peer = options.second_peer = first.value();
    if (comma == std::string::npos) return options;
    const auto second = live_address_of_end(request, "--peer", peer->substr(comma + 1), scenario.device);
    if (!second) return second.error();
    options.second_peer = second.value();
    return options;
}

/// All parts in this process.
std::optional<Failure> run_all_parts(LiveOutcome& outcome, const LiveAsked& asked, const sim::LiveOptions& options) {
    // before the run: it may last a day, and what it finds must have a place
    if (auto failure = claim_folder(asked.folder)) return failure;
    auto parts = sim::run_live(*outcome.scenario, asked.seed, options);
    if (!parts) return machine_said_no("", parts.error().message);
    const auto joined = join_records(outcome, asked, parts.value());
    return joined ? std::nullopt : std::optional(joined.error());
}

}  // namespace

proto::Result<LiveOutcome, Failure> run_live_command(const Request& request, const sim::Scenario& as_written,
                                                     std::uint64_t seed, const std::string& folder) {
    if (const auto failure = cannot_be_live(as_written)) return *failure;
    const auto slower = times_slower(request);
    if (!slower) return slower.error();
    if (auto failure = too_slow(as_written, slower.value())) return *failure;
    const std::int64_t scale = slower.value();
    LiveOutcome outcome;
    outcome.scenario = std::make_unique<const sim::Scenario>(sim::slowed(as_written, scale));
    outcome.waiting = Page(request.columns);
    const auto most = capture_most(request.arguments);
    if (!most) return most.error();
    if (auto failure = cannot_be_joined(*outcome.scenario, telegrams_joined_most)) return *failure;
    const LiveAsked asked{folder, seed, scale, most.value(), !request.arguments.has("--as")};

    sim::LiveOptions options = live_options_of(request);

    std::optional<Failure> failure;
    if (request.arguments.has("--as")) {
        const auto part = part_options(request, *outcome.scenario);
        if (!part) return part.error();
        failure = run_one_part(outcome, asked, std::move(part).value(), std::move(options));
    } else {
        for (const char* alone : {"--listen", "--peer"})
            if (request.arguments.has(alone))
                return usage(alone, "belongs to --as; write --as controller, channel or device");
        failure = run_all_parts(outcome, asked, options);
    }
    if (failure) return *failure;
    return outcome;
}

}  // namespace tools
