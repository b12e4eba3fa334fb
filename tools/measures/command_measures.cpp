// linkdrill measures: which measure catches which communication error, simulated beside what is published.
#include <algorithm>
#include <string>
#include <thread>
#include <utility>

#include "sim/measures/by_design.hpp"
#include "tools/measures/measures_page.hpp"
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/log.hpp"
#include "tools/program/progress.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/json.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Result;

constexpr std::uint64_t trials_most = 10'000;  ///< some minutes
constexpr unsigned trials_unless_said = 100;

/// The profile's telegram in both exchanges, or why the study has no link for it.
Result<sim::MeasuresFound, Failure> of_profile(const std::string& typed, const sim::StudyEffort& effort,
                                               std::string& name) {
    const auto given = GivenFile::of(typed);
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (!given.value().is_profile())
        return Failure{Status::bad_input, file, 0, {}, "is a scenario; name the file of a telegram profile"};
    const auto profile = given.value().profile();
    if (!profile) return profile.error();
    name = profile.value().name;
    for (const proto::Exchange exchange : {proto::Exchange::polled, proto::Exchange::streaming})
        if (const auto link = sim::link_of(profile.value(), exchange)) {
            const proto::LinkSettings& end = link.value().controller;
            if (sim::may_be_all_zero(end.profile, end.own_address, end.peer_address))
                return Failure{Status::bad_input, file, 0, "crc", all_zero_caution()};
        }
    auto found = sim::measures_of(profile.value(), effort);
    if (found) return std::move(found).value();
    const bool number = found.error().fault == proto::SettingsFault::streaming_needs_number ||
                        found.error().fault == proto::SettingsFault::polled_needs_number;
    if (number)
        return Failure{Status::bad_input, file, 0, "sequence",
                       "no link can run without a number of 2 bits at least; write { presence = \"carried\", bits = "
                       "16 }"};
    return Failure{Status::bad_input, file, 0, profile.value().time_stamp_bits != 0 ? "time_stamp" : "",
                   "no link of the study can use it: its cycle is 10 ms and telegrams may be 60 ms old, so a time "
                   "stamp must not come round within 0.2 s; write more bits or a longer unit"};
}

Result<Finished, Failure> run(const Request& request) {
    const auto trials = request.arguments.number("--trials", 1, trials_most);
    if (!trials) return trials.error();
    MeasuresFinding finding;
    finding.trials = static_cast<unsigned>(trials.value().value_or(trials_unless_said));
    finding.seed = request.seed.value_or(1);
    finding.file = request.arguments.value("PROFILE").value_or("");

    Progress progress("measures", request.arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes);
    const sim::StudyEffort effort{
        .seed = finding.seed, .trials = finding.trials, .jobs = request.jobs, .progress = [&](double share) {
            progress.tell(share);
        }};
    log_line("trying every error " + std::to_string(finding.trials) + " times, seed " + std::to_string(finding.seed));
    if (request.arguments.has("PROFILE")) {
        auto found = of_profile(finding.file, effort, finding.profile);
        if (!found) return found.error();
        finding.found = std::move(found).value();
    } else {
        finding.found = sim::measures_one_by_one(effort);
    }

    Finished finished{finding.as_it_should_be() ? Status::done : Status::not_met, describe(finding),
                      page_of(finding, request.columns)};
    if (request.out) {
        const Page kept = page_of(finding, Columns{});
        if (auto failure = put_evidence(*request.out, {{"measures.txt", kept.text(Colour::off)},
                                                       {"measures.json", to_json(finished.document)}}))
            return *failure;
    }
    return finished;
}

}  // namespace

Command measures_command() {
    return {
        .name = "measures",
        .group = Command::Group::then,
        .does = "try which measure catches which error, beside what is published",
        .positional = {"PROFILE", "file of a telegram profile; without it each measure alone, and all but one",
                       PositionalSpec::Need::optional},
        .options = {{"--trials", "N", "of each error on each link, 1 to 10000; without it 100"}},
        .example = "linkdrill measures scenarios/profiles/crc32_carried.toml",
        .notes =
            {"Each trial is a simulated link of its own, at a random phase and with random payloads; a neighbour link "
             "runs beside it where its telegrams can come in. Links without a CRC or without a watchdog exist only "
             "here.",
             "Status 0 if every cell agrees with what is published or has its reason, else 1. With --out the "
             "result is written there. --jobs changes nothing but the time."},
        .run = run,
    };
}

}  // namespace tools
