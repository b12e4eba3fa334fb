#include "tools/run/live_run.hpp"
#include "tools/program/secret.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <sstream>
#include <thread>

#include "sim/drive/rehearsal.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/live/live.hpp"
#include "tools/program/log.hpp"
#include "tools/run/part_file.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::uint64_t slower_most = 1000;
constexpr std::chrono::seconds wait_for_others{3};
constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};

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

/// Round trips as a table that a scenario's channel can read: the time on the line alone, since the ends of a scenario
/// scan by themselves.
EvidenceFile delay_file(const sim::RunResult& result) {
    std::string text = "round_trip_ms,scan_wait_ms\n";
    for (const sim::LiveRoundTrip& trip : result.round_trips)
        text += exact_ms(trip.line) + "," + exact_ms(trip.scan_wait) + "\n";
    return {"round_trips.csv", text};
}

EvidenceFile lateness_file(const sim::RunResult& result) {
    // a histogram in steps of a factor of two
    std::string text = "up_to_ms,scans\n";
    std::size_t counted = 0;
    for (std::int64_t up_to = 15'625; counted < result.lateness.sorted_ns.size(); up_to *= 2) {
        const auto& sorted = result.lateness.sorted_ns;
        const auto end = std::upper_bound(sorted.begin(), sorted.end(), up_to);
        const auto until = static_cast<std::size_t>(end - sorted.begin());
        std::array<char, 48> line{};
        std::snprintf(line.data(), line.size(), "%.6f,%zu\n", static_cast<double>(up_to) / 1e6, until - counted);
        text += line.data();
        counted = until;
    }
    return {"lateness.csv", text};
}

/// Nobody wrote down what a part did that was started anew: over that there is no verdict.
void withhold(sim::RunResult& result, const sim::Scenario& scenario, const std::vector<sim::PartAway>& away) {
    for (const sim::PartAway& one : away) {
        const std::string name = one.part == sim::Part::controller ? scenario.controller.name
                                 : one.part == sim::Part::device   ? scenario.device.name
                                                                   : "channel";
        result.remarks.push_back("The " + name + " was started anew, or late: what it did before " +
                                 in_ms(one.until - proto::Instant{}, Rounding::up) + " was not recorded.");
    }
    if (away.empty()) return;
    result.verdict = sim::RunVerdict::not_judged;
    result.as_expected = false;
}

sim::RunResult judged(const sim::Scenario& scenario, std::uint64_t seed, std::int64_t scale,
                      const sim::ScenarioLimits& limits, sim::RunResult result,
                      const std::vector<sim::PartAway>& away) {
    result.time_scale = scale;
    result.remarks = limits.remarks;
    result.twin = sim::twin_of(scenario, seed, limits.limits);
    sim::conclude(scenario, limits, result);
    result.lateness_allowed = sim::lateness_allowed(scenario);
    if (result.lateness.at(1.0) > result.lateness_allowed) {
        result.verdict = sim::RunVerdict::not_judged;
        result.as_expected = false;
    }
    withhold(result, scenario, away);
    if (scale != 1)
        result.remarks.push_back("Every duration of the scenario was multiplied by " + std::to_string(scale) + ".");
    return result;
}

std::optional<std::string> content_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return std::nullopt;
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

void finish(LiveOutcome& outcome, sim::RunResult result) {
    if (!result.round_trips.empty()) outcome.files.push_back(delay_file(result));
    outcome.files.push_back(lateness_file(result));
    outcome.result = std::move(result);
}

/// A live run as it was asked for.
struct Asked {
    const std::string& folder;
    std::uint64_t seed = 0;
    std::int64_t scale = 1;
    std::uint64_t most = 0;  ///< telegrams in the capture, 0 for none
    sim::ScenarioLimits limits;
};

/// Nothing if the parts do not belong together; then there is no capture either.
proto::Result<std::optional<sim::RunResult>, Failure> join_and_capture(LiveOutcome& outcome, const Asked& asked,
                                                                       const sim::PartRecords& parts) {
    const sim::PartRecord& channel = parts[static_cast<std::size_t>(sim::Part::channel)];
    const bool one_kind = channel.controller.six == channel.channel.six && channel.device.six == channel.channel.six;
    if (asked.most != 0 && one_kind && !channel.telegrams.empty()) {
        auto begun = RunCapture::begin_live(asked.folder, *outcome.scenario, asked.seed, asked.most, channel);
        if (!begun) return begun.error();
        outcome.capture = std::move(begun).value();
    }
    auto joined =
        sim::join(*outcome.scenario, asked.seed, asked.limits, parts,
                  {outcome.capture ? &outcome.capture->trace() : nullptr, &outcome.line.emplace(*outcome.scenario)},
                  &outcome.away);
    if (!joined) outcome.capture.reset();
    return joined;
}

/// All parts in this process.
std::optional<Failure> run_all_parts(LiveOutcome& outcome, const Asked& asked, const sim::LiveOptions& options) {
    // before the run: it may last a day, and what it finds must have a place
    if (auto failure = claim_folder(asked.folder)) return failure;
    auto parts = sim::run_live(*outcome.scenario, asked.seed, options);
    if (!parts) return machine_said_no("", parts.error().message);
    auto joined = join_and_capture(outcome, asked, parts.value());
    if (!joined) return joined.error();
    sim::RunResult result = std::move(joined.value()).value_or(sim::RunResult{});
    result.live = true;
    finish(outcome, judged(*outcome.scenario, asked.seed, asked.scale, asked.limits, std::move(result), outcome.away));
    return std::nullopt;
}

/// What the folder holds of each part of this run; which are missing, by name, is added to `missing`.
sim::PartRecords records_in(const std::string& folder, const PartOf& of, const sim::Scenario& scenario,
                            std::string& missing) {
    sim::PartRecords records;
    for (const sim::Part each : all_parts) {
        const auto text = content_of(folder + "/" + part_file_name(each));
        auto read = text ? part_from(*text, of, scenario, each) : std::nullopt;
        if (read)
            records[static_cast<std::size_t>(each)] = std::move(*read);
        else
            missing += (missing.empty() ? "" : " and ") + std::string(name_of(each));
    }
    return records;
}

/// Every part looks for the records of the others once its own is in place, so that the last one surely finds them.
/// What is still missing when it gives up; nothing once the outcome has its result.
proto::Result<std::string, Failure> wait_for_the_others(LiveOutcome& outcome, const Asked& asked, const PartOf& of) {
    const auto give_up = std::chrono::steady_clock::now() + wait_for_others;
    for (;;) {
        std::string missing;
        const sim::PartRecords records = records_in(asked.folder, of, *outcome.scenario, missing);
        if (missing.empty()) {
            auto joined = join_and_capture(outcome, asked, records);
            if (!joined) return joined.error();
            if (joined.value()) {
                finish(outcome, judged(*outcome.scenario, asked.seed, asked.scale, asked.limits,
                                       std::move(*joined.value()), outcome.away));
                return std::string();
            }
            missing = "records of this same run";
        }
        if (std::chrono::steady_clock::now() >= give_up) return missing;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
}

/// One part in this process, beside two others.
std::optional<Failure> run_one_part(LiveOutcome& outcome, const Asked& asked, const sim::PartOptions& part,
                                    const sim::LiveOptions& options) {
    const PartOf of{outcome.scenario->title, asked.seed, asked.scale};
    const std::string file = part_file_name(part.part);
    if (auto failure = claim_folder(asked.folder)) return failure;
    std::remove((asked.folder + "/" + file).c_str());  // of an earlier run
    auto ran = sim::run_part(*outcome.scenario, asked.seed, part, options);
    if (!ran) return machine_said_no("", ran.error().message);
    const EvidenceFile own{file, part_text(of, part.part, ran.value())};
    if (auto failure = put_evidence(asked.folder, {own})) return failure;

    const auto missing = wait_for_the_others(outcome, asked, of);
    if (!missing) return missing.error();
    if (missing.value().empty()) return std::nullopt;
    outcome.waiting.headline(
        "DONE", Hue::none,
        "the " + std::string(name_of(part.part)) + " has run, and its record is in " + asked.folder + "/" + file + ".");
    outcome.waiting.paragraph("      ", "Still to come: " + missing.value() +
                                            ". The part that ends last joins the three records in this "
                                            "folder and gives the verdict.");
    return std::nullopt;
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

}  // namespace

std::vector<OptionSpec> live_options() {
    return {
        {"--live", "", "over UDP with real timers instead of virtual time"},
        {"--times-slower", "N", "with --live: every duration times N, for a computer that is too busy"},
        {"--as", "PART", "with --live: only this part here: controller, channel or device"},
        {"--listen", "A:P", "with --as: address and port of this part"},
        {"--peer", "A:P", "with --as: the channel's address; for the channel CONTROLLER,DEVICE"},
        {"--beyond-this-computer", "", "with --as: allow addresses that are not on this computer"},
        {"--real-time", "", "with --live: ask for real-time priority and locked memory"},
    };
}

proto::Result<LiveOutcome, Failure> run_live_command(const Request& request, const sim::Scenario& as_written,
                                                     std::uint64_t seed, const std::string& folder) {
    if (const auto failure = knows_conditions(as_written)) return *failure;
    const auto slower = request.arguments.number("--times-slower", 1, slower_most);
    if (!slower) return slower.error();
    const auto scale = static_cast<std::int64_t>(slower.value().value_or(1));
    LiveOutcome outcome;
    outcome.scenario = std::make_unique<const sim::Scenario>(sim::slowed(as_written, scale));
    outcome.waiting = Page(request.columns);
    const auto most = capture_most(request.arguments);
    if (!most) return most.error();
    const Asked asked{folder, seed, scale, most.value(), sim::limits_of(*outcome.scenario)};

    sim::LiveOptions options;
    options.entropy = secret_number();
    options.real_time = request.arguments.has("--real-time");
    options.tell = [](const std::string& line) { std::cerr << "live: " << line << "\n"; };

    std::optional<Failure> failure;
    if (request.arguments.has("--as")) {
        const auto part = part_options(request);
        if (!part) return part.error();
        failure = run_one_part(outcome, asked, part.value(), options);
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
