#include "tools/run/live_run.hpp"

#include <iostream>
#include <utility>

#include "sim/live/live.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/secret.hpp"
#include "tools/run/live_join.hpp"
#include "tools/run/live_one_part.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::uint64_t slower_most = 1000;
constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};
/// Records of so many telegrams are joined in some 5 GB of memory.
constexpr std::int64_t telegrams_most = 10'000'000;

std::optional<sim::Part> part_named(const std::string& name) {
    for (const sim::Part part : all_parts)
        if (name == name_of(part)) return part;
    return std::nullopt;
}

proto::Result<sim::Address, Failure> address(const Request& request, const std::string& option,
                                             const std::string& text) {
    const auto found = sim::address_from(text);
    if (!found) return usage(option, "\"" + text + "\" is no address with a port; write for example 127.0.0.1:4701");
    if (!found->loopback() && !request.arguments.has("--beyond-this-computer"))
        return usage(option, text + " is not on this computer; telegrams leave it only with --beyond-this-computer");
    return *found;
}

proto::Result<sim::PartOptions, Failure> part_options(const Request& request) {
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
    const auto own = address(request, "--listen", *listen);
    if (!own) return own.error();
    options.listen = own.value();
    const std::size_t comma = peer->find(',');
    if ((comma != std::string::npos) != (*part == sim::Part::channel))
        return usage(
            "--peer",
            *part == sim::Part::channel
                ? "the channel has two peers; write CONTROLLER,DEVICE, for example 127.0.0.1:4701,127.0.0.1:4702"
                : "an end has one peer, the channel; write for example 127.0.0.1:4700");
    const auto first = address(request, "--peer", peer->substr(0, comma));
    if (!first) return first.error();
    options.peer = options.second_peer = first.value();
    if (comma == std::string::npos) return options;
    const auto second = address(request, "--peer", peer->substr(comma + 1));
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

/// Each part of a live run knows its own state only; the channel, where faults act, knows neither end nor machine.
std::optional<Failure> knows_conditions(const sim::Scenario& scenario) {
    for (const sim::Fault& fault : scenario.faults) {
        if (!fault.when.any()) continue;
        return Failure{Status::bad_input, scenario.file, fault.where.line, fault.where.key,
                       "depends on the state of an end or of the machine, which the channel of a live run cannot know; "
                       "take --live away"};
    }
    return std::nullopt;
}

/// The records of a live run's parts hold signals only: what a value meant at its source nobody could say afterwards.
std::optional<Failure> has_no_values(const sim::Scenario& scenario) {
    if (!scenario.values.any()) return std::nullopt;
    const sim::Place& where = scenario.values.all.front().where;
    return Failure{Status::bad_input, scenario.file, where.line, where.key,
                   "is a value, and values are judged in virtual time only; take --live away"};
}

/// What a live run sees is kept whole until it is joined. Each end sends a telegram a scan at most.
std::optional<Failure> can_be_joined(const sim::Scenario& scenario) {
    const auto a_second = [](proto::Duration scan) { return 1e9 / static_cast<double>(scan.ns); };
    const double rate = a_second(scenario.controller.link.scan) + a_second(scenario.device.link.scan);
    const double longest_s = static_cast<double>(telegrams_most) / rate;
    if (static_cast<double>(scenario.duration.ns) / 1e9 <= longest_s) return std::nullopt;
    return Failure{Status::bad_input, scenario.file, 0, "duration",
                   "is too long for a live run, whose telegrams are all kept: at these scans at most " +
                       in_s(proto::Duration{static_cast<std::int64_t>(longest_s) * 1'000'000'000}) +
                       "; write a shorter duration, or rehearse it without --live"};
}

}  // namespace

std::vector<OptionSpec> live_options() {
    constexpr auto one = OptionSpec::Values::one;
    return {
        {"--live", "", "over UDP with real timers instead of virtual time"},
        {"--times-slower", "N", "with --live: every duration times N, for a computer that is too busy"},
        {"--as", "PART", "with --live: only this part here: controller, channel or device", one,
         "controller channel device"},
        {"--listen", "A:P", "with --as: address and port of this part"},
        {"--peer", "A:P", "with --as: the channel's address; for the channel CONTROLLER,DEVICE"},
        {"--beyond-this-computer", "", "with --as: allow addresses that are not on this computer"},
        {"--real-time", "", "with --live: ask for real-time priority and locked memory"},
    };
}

proto::Result<LiveOutcome, Failure> run_live_command(const Request& request, const sim::Scenario& as_written,
                                                     std::uint64_t seed, const std::string& folder) {
    if (const auto failure = knows_conditions(as_written)) return *failure;
    if (const auto failure = has_no_values(as_written)) return *failure;
    const auto slower = request.arguments.number("--times-slower", 1, slower_most);
    if (!slower) return slower.error();
    const auto scale = static_cast<std::int64_t>(slower.value().value_or(1));
    LiveOutcome outcome;
    outcome.scenario = std::make_unique<const sim::Scenario>(sim::slowed(as_written, scale));
    outcome.waiting = Page(request.columns);
    const auto most = capture_most(request.arguments);
    if (!most) return most.error();
    if (auto failure = can_be_joined(*outcome.scenario)) return *failure;
    const LiveAsked asked{folder, seed, scale, most.value(), !request.arguments.has("--as")};

    sim::LiveOptions options;
    options.entropy = secret_number();
    options.real_time = request.arguments.has("--real-time");
    options.tell = [](const std::string& line) { std::cerr << "live: " << line << "\n"; };

    std::optional<Failure> failure;
    if (request.arguments.has("--as")) {
        const auto part = part_options(request);
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
