#include "tools/run/live_asked.hpp"

#include <iostream>

#include "sim/scenario/network.hpp"
#include "tools/program/reachable.hpp"
#include "tools/program/secret.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// Each part of a live run knows its own state only; the channel, where faults act, knows neither end nor machine.
std::optional<Failure> has_conditions(const sim::Scenario& scenario) {
    for (const sim::Fault& fault : scenario.faults) {
        if (!fault.when.any()) continue;
        return Failure{Status::bad_input, scenario.file, fault.where.line, fault.where.key,
                       "depends on the state of an end or of the machine, which the channel of a live run cannot know; "
                       "take --live away"};
    }
    return std::nullopt;
}

/// The records of a live run's parts hold signals only: what a value meant at its source nobody could say afterwards.
std::optional<Failure> has_values(const sim::Scenario& scenario) {
    if (!scenario.values.any()) return std::nullopt;
    const sim::Place& where = scenario.values.all.front().where;
    return Failure{Status::bad_input, scenario.file, where.line, where.key,
                   "is a value, and values are judged in virtual time only; take --live away"};
}

/// The channel of a live run carries each link by itself.
std::optional<Failure> has_faults_between_links(const sim::Scenario& scenario) {
    for (const sim::Fault& fault : scenario.faults)
        if (!fault.other_link.empty())
            return Failure{Status::bad_input, scenario.file, fault.where.line, fault.where.key,
                           "is between two links, which is rehearsed in virtual time only; take --live away"};
    return std::nullopt;
}

}  // namespace

std::vector<OptionSpec> live_options() {
    constexpr auto one = OptionSpec::Values::one;
    return {
        {"--live", "", "over UDP with real timers instead of virtual time"},
        {"--times-slower", "N", "with --live: every duration times N, for a computer that is too busy"},
        {"--as", "PART", "with --live: only this part here: controller, channel or device; of a cell device:STATION",
         one, "controller channel device"},
        {"--listen", "A:P", "with --as: address and port of this part"},
        {"--peer", "A:P", "with --as: the channel's address; for the channel CONTROLLER,DEVICE, of a cell all DEVICEs"},
        {"--beyond-this-computer", "", "with --as: allow addresses that are not on this computer"},
        {"--typed-addresses", "",
         "with --live: each end at its network.ip; --listen of an end and --peer of the channel are then ports alone"},
        {"--real-time", "", "with --live: ask for real-time priority and locked memory"},
    };
}

proto::Result<sim::Address, Failure> live_address_of_end(const Request& request, const std::string& option,
                                                         const std::string& text, const sim::TypedEnd& end) {
    if (!request.arguments.has("--typed-addresses")) return live_address(request, option, text);
    const bool port = !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
    if (!port)
        return usage(option, "\"" + text + "\" is no port, and with --typed-addresses the address of " + end.name +
                                 " is the one typed there; write for example 4701");
    const sim::NetworkTyped* typed = sim::network_of(end);
    if (typed == nullptr || !typed->ip)
        return usage("--typed-addresses",
                     "no network.ip is typed at " + end.name + "; type it, or take the option away");
    return live_address(request, option, written(*typed->ip) + ":" + text);
}

proto::Result<sim::Address, Failure> live_address(const Request& request, const std::string& option,
                                                  const std::string& text) {
    const auto found = sim::address_from(text);
    if (!found) return usage(option, "\"" + text + "\" is no address with a port; write for example 127.0.0.1:4701");
    if (!found->loopback() && !request.arguments.has("--beyond-this-computer"))
        return usage(option, text + " is not on this computer; telegrams leave it only with --beyond-this-computer");
    return *found;
}

proto::Result<std::int64_t, Failure> times_slower(const Request& request) {
    const auto slower = request.arguments.number("--times-slower", 1, sim::slowed_most);
    if (!slower) return slower.error();
    return static_cast<std::int64_t>(slower.value().value_or(1));
}

std::optional<Failure> too_slow(const sim::Scenario& scenario, std::int64_t factor) {
    const std::int64_t most = sim::pace_most(scenario);
    if (factor <= most) return std::nullopt;
    return usage("--times-slower", "makes the slopes of " + scenario.machine->name +
                                       " so flat that it would be another machine; write at most " +
                                       std::to_string(most));
}

sim::LiveOptions live_options_of(const Request& request) {
    sim::LiveOptions options;
    options.entropy = secret_number();
    options.real_time = request.arguments.has("--real-time");
    options.typed_addresses = request.arguments.has("--typed-addresses");
    options.tell = [](const std::string& line) { std::cerr << "live: " << line << "\n"; };
    return options;
}

std::optional<Failure> cannot_be_live(const sim::Scenario& scenario) {
    // on this computer's own addresses it would come up all the same
    if (auto failure = cannot_reach(scenario)) {
        failure->message += "; take --live away";
        return failure;
    }
    if (auto failure = has_conditions(scenario)) return failure;
    if (auto failure = has_faults_between_links(scenario)) return failure;
    return has_values(scenario);
}

/// Each end sends a telegram a scan at most.
std::optional<Failure> cannot_be_joined(const sim::Scenario& scenario, std::int64_t telegrams_most) {
    const auto a_second = [](proto::Duration scan) { return 1e9 / static_cast<double>(scan.ns); };
    const double rate = a_second(scenario.controller.link.scan) + a_second(scenario.device.link.scan);
    const double longest_s = static_cast<double>(telegrams_most) / rate;
    if (static_cast<double>(scenario.duration.ns) / 1e9 <= longest_s) return std::nullopt;
    return Failure{Status::bad_input, scenario.file, 0, "duration",
                   "is too long for a live run, whose telegrams are all kept: at these scans at most " +
                       in_s(proto::Duration{static_cast<std::int64_t>(longest_s) * 1'000'000'000}) +
                       "; write a shorter duration, or rehearse it without --live"};
}

}  // namespace tools
