// One part of a live cell beside others elsewhere, and the joining of what all of them wrote down.
#include <algorithm>
#include <cstring>
#include <thread>
#include <utility>

#include "sim/drive/cell_verdict.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/run/cell_live.hpp"
#include "tools/run/live_files.hpp"
#include "tools/run/live_one_part.hpp"
#include "tools/run/part_journal.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};

void add_remark(sim::CellResult& result, const std::string& remark) {
    if (std::find(result.remarks.begin(), result.remarks.end(), remark) == result.remarks.end())
        result.remarks.push_back(remark);
}

/// Over what nobody wrote down there is no verdict; of a cell's parts none goes on with a run.
bool tell_away(sim::CellResult& result, const sim::WholeCell& cell) {
    bool any = false;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const sim::PartAway& one : result.links[i].away) {
            any = true;
            const std::string name = one.part == sim::Part::controller ? cell.links[i].alone.controller.name
                                                                       : name_of(cell, sim::CellPart{one.part, i});
            add_remark(result, "Link " + cell.links[i].name + ": the " + name +
                                   " was started anew, or late: what it did before " +
                                   in_ms(one.until - proto::Instant{}, Rounding::up) +
                                   " was not recorded, and what is told of this link may be wrong.");
        }
    return any;
}

void judge(sim::CellResult& result, const sim::WholeCell& cell, std::int64_t scale) {
    result.time_scale = scale;
    result.lateness_allowed = sim::lateness_allowed(cell);
    const bool late = result.lateness.at(1.0) > result.lateness_allowed;
    if (tell_away(result, cell) || late) sim::withdraw_verdict(result);
    if (scale != 1)
        result.remarks.push_back("Every duration of the scenario was multiplied by " + std::to_string(scale) + ".");
}

PartOf part_of(const CellOutcome& outcome, const CellAsked& asked, std::size_t link) {
    const sim::WholeCell& cell = *outcome.cell;
    return {cell.title, fingerprint_of_file(cell.of_file()), asked.seed, asked.scale, cell.links[link].name, link + 1};
}

/// What the folder holds of this run; which parts are missing, by name, is added to `missing`.
sim::CellRecords records_in(const CellOutcome& outcome, const CellAsked& asked, std::string& missing) {
    const sim::WholeCell& cell = *outcome.cell;
    sim::CellRecords records(cell.links.size());
    const auto lacks = [&](const sim::CellPart& part) {
        const std::string name = sim::name_of(cell, part);
        if (("," + missing + ",").find("," + name + ",") == std::string::npos)
            missing += (missing.empty() ? "" : ",") + name;
    };
    const auto path = [&](std::size_t link, sim::Part part) {
        return asked.folder + "/" + part_file_name(part, link + 1);
    };
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const sim::Part part : all_parts)
            if (!seems_whole(path(i, part))) lacks({part, i});
    for (std::size_t i = 0; i < cell.links.size() && missing.empty(); ++i)
        for (const sim::Part part : all_parts) {
            const auto text = content_of(path(i, part));
            auto read = text ? part_from(*text, part_of(outcome, asked, i), cell.links[i].alone, part) : std::nullopt;
            if (read)
                records[i][static_cast<std::size_t>(part)] = std::move(*read);
            else
                lacks({part, i});
        }
    return records;
}

/// Every part looks for the records of the others once its own are in place, so that the last one surely finds them.
/// What is still missing when it gives up; nothing once the outcome has its result.
std::string wait_for_the_others(CellOutcome& outcome, const CellAsked& asked) {
    const auto give_up = std::chrono::steady_clock::now() + wait_for_other_parts;
    for (;;) {
        std::string missing;
        const sim::CellRecords records = records_in(outcome, asked, missing);
        if (missing.empty()) {
            if (join_cell_records(outcome, asked, records, false)) return {};
            missing = "records of this same run";
        }
        if (std::chrono::steady_clock::now() >= give_up) return missing;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
}

std::string with_and(std::string names) {
    for (std::size_t comma = names.find(','); comma != std::string::npos; comma = names.find(',', comma))
        names.replace(comma, 1, " and ");
    return names;
}

using Journals = std::vector<std::unique_ptr<PartJournalFile>>;

proto::Result<Journals, Failure> open_journals(const CellOutcome& outcome, const CellAsked& asked,
                                               const sim::CellPart& part) {
    Journals journals;
    for (const std::size_t link : sim::links_of(*outcome.cell, part)) {
        auto opened = PartJournalFile::open(asked.folder, part_of(outcome, asked, link),
                                            outcome.cell->links[link].alone, part.part);
        if (!opened) return opened.error();
        journals.push_back(std::move(opened).value());
    }
    return journals;
}

/// One that was ended in a run which still lasts begins so much later that nobody takes it for one that was there all
/// the time.
void begin_apart_from(const Journals& journals, const sim::WholeCell& cell, const sim::LiveOptions& options) {
    bool was_there = false;
    for (std::size_t i = 0; i < journals.size(); ++i) {
        if (!journals[i]->earlier()) continue;
        was_there = true;
        proto::Duration apart{};
        for (const sim::CellLink& link : cell.links) apart = std::max(apart, sim::goes_on_after(link.alone));
        const std::int64_t until = journals[i]->earlier()->record.clock_ns + apart.ns;
        std::this_thread::sleep_for(
            std::chrono::nanoseconds(std::max<std::int64_t>(0, until - sim::steady_clock_ns())));
    }
    if (was_there)
        options.tell("was ended in a run that still lasts, and does not go on with it: that run will have no verdict");
}

Failure interrupted(const std::string& file, bool begun) {
    return {Status::interrupted,
            file,
            0,
            {},
            begun ? "stopped; a part of a cell does not go on with its run, which has no verdict then"
                  : "stopped before the run began; not all other parts were heard"};
}

}  // namespace

bool join_cell_records(CellOutcome& outcome, const CellAsked& asked, const sim::CellRecords& parts,
                       bool in_one_process) {
    const sim::WholeCell& cell = *outcome.cell;
    outcome.lines.clear();
    outcome.lines.reserve(cell.links.size());
    std::vector<sim::Witnesses> witnesses;
    for (const sim::CellLink& link : cell.links) {
        outcome.lines.emplace_back(link.alone);
        witnesses.push_back({nullptr, &outcome.lines.back()});
    }
    outcome.result = sim::join_cell(cell, asked.seed, parts,
                                    in_one_process ? sim::Together::surely : sim::Together::if_they_match, witnesses);
    if (!outcome.result) return false;
    judge(*outcome.result, cell, asked.scale);
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        if (!outcome.result->links[i].round_trips.empty())
            outcome.files.push_back(
                delay_file("round_trips_" + std::to_string(i + 1) + ".csv", outcome.result->links[i]));
    outcome.files.push_back(lateness_file(outcome.result->lateness));
    return true;
}

std::optional<Failure> run_one_cell_part(CellOutcome& outcome, const CellAsked& asked, sim::CellPartOptions part,
                                         sim::LiveOptions options) {
    if (auto failure = claim_folder(asked.folder)) return failure;
    const auto opened = open_journals(outcome, asked, part.part);
    if (!opened) return opened.error();
    const Journals& journals = opened.value();
    std::string files;
    for (const std::size_t link : sim::links_of(*outcome.cell, part.part))
        files += (files.empty() ? asked.folder + "/" : ", ") + part_file_name(part.part.part, link + 1);
    for (const auto& journal : journals) part.journals.push_back(journal.get());
    begin_apart_from(journals, *outcome.cell, options);

    const NoteInterrupt interrupt;
    options.stop = [&interrupt] { return interrupt.came(); };
    auto ran = sim::run_cell_part(*outcome.cell, asked.seed, part, options);
    for (const auto& journal : journals)
        if (journal->error() != 0) return machine_said_no(files, std::strerror(journal->error()));
    if (!ran) return machine_said_no("", ran.error().message);
    if (ran.value().stopped) return interrupted(files, journals.front()->begun());
    for (std::size_t i = 0; i < journals.size(); ++i)
        if (auto failure = journals[i]->finish(ran.value().records[i])) return failure;

    const std::string missing = wait_for_the_others(outcome, asked);
    if (missing.empty()) return std::nullopt;
    outcome.waiting.headline(
        "DONE", Hue::none,
        "the " + sim::name_of(*outcome.cell, part.part) + " has run, and what it saw is in " + files + ".");
    outcome.waiting.paragraph("      ", "Still to come: " + with_and(missing) +
                                            ". The part that ends last joins all records in this folder and gives the "
                                            "verdict.");
    return std::nullopt;
}

}  // namespace tools
