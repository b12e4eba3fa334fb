// linkdrill roundtrips: measures the round trips of a network, for the channel of a scenario.
#include <algorithm>
#include <iostream>
#include <random>

#include "sim/scenario/units.hpp"
#include "tools/program/command.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/log.hpp"
#include "tools/program/progress.hpp"
#include "tools/report/html_page.hpp"
#include "tools/roundtrips/round_trips_page.hpp"
#include "tools/roundtrips/round_trips_sheet.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using proto::Duration;

constexpr const char* default_folder = "linkdrill-out/roundtrips";
constexpr Duration wait_for_answer = proto::seconds(2);
/// Of one run: bounds what is kept in memory, and a scenario reads a file of so many rows.
constexpr std::int64_t datagrams_most = 1'000'000;
constexpr std::uint64_t default_bytes = 19;

struct TimeOption {
    const char* name = "";
    const char* otherwise = "";
    Duration least, most;
};
constexpr TimeOption cycle_option{"--cycle", "10 ms", proto::milliseconds(1), proto::seconds(10)};
constexpr TimeOption for_option{"--for", "1 min", proto::seconds(1), proto::seconds(86'400)};

proto::Result<Duration, Failure> time_of(const Arguments& arguments, const TimeOption& option) {
    const std::string typed = arguments.value(option.name).value_or(option.otherwise);
    const auto read = sim::parse_quantity(typed, sim::duration_units());
    const std::string mend = "; write " + sim::written(option.least) + " to " + sim::written(option.most) +
                             ", for example \"" + option.otherwise + "\"";
    const std::string shown = in_quotes(typed.substr(0, 60));
    if (!read)
        return usage(option.name,
                     shown + (read.error() == sim::QuantityFault::no_unit ? " has no unit" : " is no time") + mend);
    const Duration time{read.value()};
    if (time < option.least || time > option.most) return usage(option.name, shown + " is out of range" + mend);
    return time;
}

/// What must be an address that was typed in full.
proto::Result<sim::Address, Failure> address_to_ask(const Arguments& arguments) {
    const std::string typed = arguments.value("--ask").value_or("");
    const auto found = sim::address_from(typed);
    if (!found || found->port == 0)
        return usage("--ask",
                     in_quotes(typed.substr(0, 60)) +
                         " is no address with a port; write for example 192.0.2.1:4711, as --answer says there");
    if (!found->of_one_computer())
        return usage("--ask", typed + " is no address of one computer; write the one at which --answer runs");
    return *found;
}

/// A port alone is one of this computer, for itself.
proto::Result<sim::Address, Failure> address_to_answer(const Arguments& arguments) {
    const std::string typed = arguments.value("--answer").value_or("");
    const std::size_t colon = typed.find(':');
    const std::string whole = colon == 0                   ? "127.0.0.1" + typed
                              : colon == std::string::npos ? "127.0.0.1:" + typed
                                                           : typed;
    const auto found = sim::address_from(whole);
    if (!found || (!found->of_one_computer() && !found->every()))
        return usage("--answer", in_quotes(typed.substr(0, 60)) +
                                     " is no address with a port; write for example 4711, for this computer alone, or "
                                     "192.0.2.1:4711, one of its own addresses");
    return *found;
}

proto::Result<sim::AskOptions, Failure> ask_options(const Request& request) {
    sim::AskOptions options;
    const auto to = address_to_ask(request.arguments);
    if (!to) return to.error();
    options.to = to.value();
    const auto cycle = time_of(request.arguments, cycle_option);
    if (!cycle) return cycle.error();
    options.cycle = cycle.value();
    const auto lasting = time_of(request.arguments, for_option);
    if (!lasting) return lasting.error();
    using D = sim::MeasuringDatagram;
    const auto bytes = request.arguments.number("--bytes", D::bytes_least, D::bytes_most);
    if (!bytes)
        return usage("--bytes",
                     bytes.error().message + "; the header of a datagram has " + std::to_string(D::bytes_least));
    options.bytes = bytes.value().value_or(default_bytes);
    const std::int64_t count = lasting.value().ns / options.cycle.ns;
    if (count < 2) return usage("--for", "holds fewer than two cycles; write a longer time or a shorter --cycle");
    if (count > datagrams_most)
        return usage("--for", "is " + grouped(static_cast<std::uint64_t>(count)) + " datagrams, over " +
                                  grouped(datagrams_most) + "; write a shorter time, or a --cycle of at least " +
                                  sim::written(Duration{(lasting.value().ns + datagrams_most - 1) / datagrams_most}));
    options.count = static_cast<std::uint64_t>(count);
    options.wait = wait_for_answer;
    options.run = static_cast<std::uint32_t>(std::random_device{}());
    options.real_time = request.arguments.has("--real-time");
    return options;
}

void tell(const std::string& line) {
    std::cerr << "roundtrips: " + plain(line) + "\n";
    log_line(line);
}

/// All that is kept. Where nothing came back the files of an earlier measurement go, so that nobody takes them for
/// this.
std::optional<Failure> keep(const RoundTripFinding& found, const Value& document) {
    std::vector<EvidenceFile> files;
    std::vector<std::string> gone;
    if (found.some()) {
        files.push_back({round_trips_csv, csv_of(found.outcome.trips)});
        files.push_back({round_trips_page, html_page(sheet_of(found), PageLook::report, chart_data_of(found))});
    } else {
        gone = {round_trips_csv, round_trips_page};
    }
    files.push_back({"roundtrips.txt", page_of(found, Columns{}).text(Colour::off)});
    files.push_back({"roundtrips.json", to_json(document)});
    return put_evidence(found.folder, files, gone);
}

proto::Result<Finished, Failure> ask(const Request& request) {
    auto read = ask_options(request);
    if (!read) return read.error();
    sim::AskOptions options = std::move(read).value();
    const NoteInterrupt interrupt;
    std::optional<sim::AskOutcome> outcome;
    {
        Progress progress("asking", request.arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes);
        options.tell = tell;
        options.go_on = [&](const sim::AskState& state) {
            progress.tell(static_cast<double>(state.passed) / static_cast<double>(state.planned),
                          grouped(state.answered) + " answered of " + grouped(state.sent));
            return !interrupt.came();
        };
        log_line("asking " + options.to.written());
        auto asked = sim::ask_round_trips(options);
        if (!asked) return machine_said_no("", asked.error().message);
        outcome = std::move(asked).value();
    }
    if (outcome->trips.sent.empty() && !outcome->not_sent_why.empty())
        return machine_said_no("", options.to.written() + ": " + plain(outcome->not_sent_why) +
                                       "; no datagram left this computer: is there a network, and may it be used?");
    const RoundTripFinding found =
        finding_of(std::move(options), std::move(*outcome), request.out.value_or(default_folder));
    Finished finished{Status::done, describe(found), page_of(found, request.columns)};
    if (auto failure = keep(found, finished.document)) return *failure;
    if (interrupt.came())
        finished.status = Status::interrupted;
    else if (found.verdict != RoundTripVerdict::measured)
        finished.status = Status::not_met;
    return finished;
}

proto::Result<Finished, Failure> answer(const Request& request) {
    const auto at = address_to_answer(request.arguments);
    if (!at) return at.error();
    std::optional<Duration> lasting;
    if (request.arguments.has(for_option.name)) {
        const auto typed = time_of(request.arguments, for_option);
        if (!typed) return typed.error();
        lasting = typed.value();
    }
    const NoteInterrupt interrupt;
    sim::AnswerOptions options;
    options.at = at.value();
    options.real_time = request.arguments.has("--real-time");
    if (!request.arguments.has("--quiet")) options.tell = tell;
    options.go_on = [&](Duration since) { return !interrupt.came() && (!lasting || since < *lasting); };
    if (!options.at.loopback())
        tell(options.at.every() ? "anybody on any network of this computer can reach it, until it ends"
                                : "anybody on the network of " + options.at.host + " can reach it, until it ends");
    const auto outcome = sim::answer_round_trips(options);
    if (!outcome) return machine_said_no("", outcome.error().message);
    Finished finished{Status::done, describe(outcome.value()), page_of(outcome.value(), request.columns)};
    if (auto failure =
            keep_if_asked(request.out, "roundtrips_answer", finished.document, page_of(outcome.value(), Columns{})))
        return *failure;
    if (interrupt.came())
        finished.status = Status::interrupted;
    else if (outcome.value().counts.answered == 0)
        finished.status = Status::not_met;
    return finished;
}

proto::Result<Finished, Failure> run(const Request& request) {
    const bool asks = request.arguments.has("--ask"), answers = request.arguments.has("--answer");
    if (asks && answers) return usage("--ask", "does not go with --answer; run one of them on each computer");
    if (!asks && !answers)
        return usage("--ask", "is missing; write --answer PORT on one computer and --ask ADDRESS:PORT on the other");
    if (answers)
        for (const char* of_asking : {"--cycle", "--bytes"})
            if (request.arguments.has(of_asking))
                return usage(of_asking, "belongs to --ask: whoever asks decides; leave it out");
    return asks ? ask(request) : answer(request);
}

}  // namespace

Command roundtrips_command() {
    return {
        .name = "roundtrips",
        .group = Command::Group::then,
        .does = "measure the round trips of a network, as delays for a scenario's channel",
        .positional = {"", "", PositionalSpec::Need::optional},
        .options = {{"--answer", "A:P",
                     "answer at that address of this computer; a port alone: for this computer only"},
                    {"--ask", "A:P", "ask there, and measure"},
                    {"--cycle", "T", "one datagram in each, 1 ms to 10 s (default 10 ms)"},
                    {"--bytes", "N", "of each datagram, 16 to 250 (default 19)"},
                    {"--for", "T", "1 s to 24 h (default 1 min; with --answer until Ctrl-C)"},
                    {"--real-time", "", "ask for real-time priority and locked memory"}},
        .without = {"--seed", "--jobs"},
        .example = R"(linkdrill roundtrips --ask 192.0.2.1:4711 --cycle "10 ms" --bytes 19 --for "10 min")",
        .notes =
            {"First linkdrill roundtrips --answer 192.0.2.1:4711 on the other computer, with an address of its own; "
             "0.0.0.0 for all of them. It serves one at a time and sends nothing but an answer to each of his "
             "datagrams, as long as that. Datagrams of linkdrill's own kind over UDP; keep them off a network that "
             "machines depend on.",
             "A round trip is the time on the line: from sending to the system's stamp on the answer's arrival, less "
             "the time at the other computer. How late this computer sends is told apart and in none of the times.",
             "An answer is waited for until 2 s after the last datagram; what came by then has its true time, the rest "
             "is lost. Status 1 if nothing came back, or if this computer was too late itself to be believed. At most "
             "1 000 000 datagrams in one run, so that memory stays bounded (under 200 MB) and a scenario can read the "
             "file: 2.7 hours at 10 ms, 24 hours at 87 ms. Ctrl-C keeps what was measured.",
             R"(round_trips.csv goes beside a scenario: delay = { file = "round_trips.csv", no_answer = "losses" }.)"},
        .run = run,
    };
}

}  // namespace tools
