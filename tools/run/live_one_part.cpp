#include "tools/run/live_one_part.hpp"

#include <chrono>
#include <cstring>
#include <string>
#include <thread>
#include <utility>

#include "tools/program/interrupt.hpp"
#include "tools/run/part_journal.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};

/// What the folder holds of each part of this run; which are missing, by name, is added to `missing`.
sim::PartRecords records_in(const std::string& folder, const PartOf& of, const sim::Scenario& scenario,
                            std::string& missing) {
    const auto path = [&folder](sim::Part part) { return folder + "/" + part_file_name(part); };
    for (const sim::Part each : all_parts)
        if (!seems_whole(path(each))) missing += (missing.empty() ? "" : " and ") + std::string(name_of(each));
    sim::PartRecords records;
    if (!missing.empty()) return records;
    for (const sim::Part each : all_parts) {
        const auto text = content_of(path(each));
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
proto::Result<std::string, Failure> wait_for_the_others(LiveOutcome& outcome, const LiveAsked& asked,
                                                        const PartOf& of) {
    const auto give_up = std::chrono::steady_clock::now() + wait_for_other_parts;
    for (;;) {
        std::string missing;
        const sim::PartRecords records = records_in(asked.folder, of, *outcome.scenario, missing);
        if (missing.empty()) {
            const auto joined = join_records(outcome, asked, records);
            if (!joined) return joined.error();
            if (joined.value()) return std::string();
            missing = "records of this same run";
        }
        if (std::chrono::steady_clock::now() >= give_up) return missing;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
}

/// Ended by hand: its record is one of a run that may go on.
Failure interrupted(const sim::Scenario& scenario, const PartJournalFile& journal, const std::string& file) {
    if (!journal.begun())
        return {Status::interrupted, file, 0, {}, "stopped before the run began; the other parts were not heard"};
    return {Status::interrupted,
            file,
            0,
            {},
            "stopped; the same command goes on with this run if it is given within the " + in_s(scenario.duration) +
                " that it lasts"};
}

}  // namespace

std::optional<Failure> run_one_part(LiveOutcome& outcome, const LiveAsked& asked, sim::PartOptions part,
                                    sim::LiveOptions options) {
    const PartOf of{outcome.scenario->title, fingerprint_of_file(*outcome.scenario), asked.seed, asked.scale};
    const std::string file = asked.folder + "/" + part_file_name(part.part);
    if (auto failure = claim_folder(asked.folder)) return failure;
    auto opened = PartJournalFile::open(asked.folder, of, *outcome.scenario, part.part);
    if (!opened) return opened.error();
    PartJournalFile& journal = *opened.value();
    part.journal = &journal;
    part.earlier = journal.earlier();
    if (part.earlier)
        options.tell("goes on with the run that began " +
                     in_s(proto::Duration{sim::steady_clock_ns() - part.earlier->record.clock_ns}) +
                     " ago; it was away since " + in_s(part.earlier->alive - proto::Instant{}) +
                     " of it (for a run of its own remove " + file + ")");

    const NoteInterrupt interrupt;
    options.stop = [&interrupt] { return interrupt.came(); };
    auto ran = sim::run_part(*outcome.scenario, asked.seed, part, options);
    if (journal.error() != 0) return machine_said_no(file, std::strerror(journal.error()));
    if (!ran) return machine_said_no("", ran.error().message);
    if (ran.value().stopped) return interrupted(*outcome.scenario, journal, file);
    if (auto failure = journal.finish(ran.value().record)) return failure;

    const auto missing = wait_for_the_others(outcome, asked, of);
    if (!missing) return missing.error();
    if (missing.value().empty()) return std::nullopt;
    outcome.waiting.headline("DONE", Hue::none,
                             "the " + std::string(name_of(part.part)) + " has run, and its record is in " + file + ".");
    outcome.waiting.paragraph("      ", "Still to come: " + missing.value() +
                                            ". The part that ends last joins the three records in this "
                                            "folder and gives the verdict.");
    return std::nullopt;
}

}  // namespace tools
