// linkdrill campaign FILE --trials N: many randomised trials of a scenario's faults.
#include <algorithm>
#include <chrono>
#include <optional>
#include <string>

#include "sim/drive/campaign.hpp"
#include "sim/drive/cell_campaign.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/campaign/campaign_page.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/program/command.hpp"
#include "tools/program/console.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/log.hpp"
#include "tools/program/one_link.hpp"
#include "tools/program/progress.hpp"
#include "tools/program/reachable.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// When the time that was granted is over; counts from its making.
class Until {
  public:
    explicit Until(const std::optional<sim::Duration>& granted) : granted_(granted) {}
    [[nodiscard]] bool over() const {
        return granted_ && Clock::now() - begun_ >= std::chrono::nanoseconds(granted_->ns);
    }

  private:
    using Clock = std::chrono::steady_clock;
    std::optional<sim::Duration> granted_;
    Clock::time_point begun_ = Clock::now();
};

/// Takes the trials into the summary and the store, tells how far it is, and listens for Ctrl-C and the clock.
class Sink final : public sim::CampaignSink {
  public:
    Sink(sim::CampaignSummary& summary, TrialStore* store, std::uint64_t wanted, const Until& until,
         const NoteInterrupt& interrupt, Progress::Shown shown)
        : summary_(summary),
          store_(store),
          wanted_(wanted),
          before_(summary.trials()),
          until_(until),
          interrupt_(interrupt),
          progress_("campaign", shown) {}

    bool take(const sim::TrialBatch& batch) override {
        // first into the summary: a store that commits writes it
        summary_.add(batch);
        if (store_ != nullptr) failure_ = store_->add(batch);
        return !failure_;
    }
    bool go_on() override {
        progress_.tell_lines([this](double seconds) { return lines(seconds); });
        return !interrupt_.came() && !until_.over();
    }
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }

  private:
    [[nodiscard]] std::pair<std::string, std::string> lines(double seconds) const {
        const std::uint64_t done = summary_.trials();
        const double rate = static_cast<double>(done - before_) / seconds;
        const std::string left =
            rate > 0.0 ? std::to_string(static_cast<std::uint64_t>(static_cast<double>(wanted_ - done) / rate + 0.999))
                       : "?";
        const std::uint64_t dangerous = summary_.of(sim::Outcome::dangerous);
        return {"campaign  " + grouped(done) + " of " + grouped(wanted_) + " trials  " +
                    std::to_string(done * 100 / wanted_) + " %  " + grouped(static_cast<std::uint64_t>(rate)) +
                    " a second  " + left + " s left  " + grouped(dangerous) + " dangerous so far",
                "campaign: " + std::to_string(done) + " of " + std::to_string(wanted_) + " trials, " + left +
                    " s left, " + std::to_string(dangerous) + " dangerous so far"};
    }

    sim::CampaignSummary& summary_;
    TrialStore* store_;
    const std::uint64_t wanted_, before_;
    const Until& until_;
    const NoteInterrupt& interrupt_;
    Progress progress_;
    std::optional<Failure> failure_;
};

/// The evidence, if it is asked for.
std::optional<Failure> keep(const Request& request, const CampaignFinding& found, const Value& document) {
    if (!request.out) return std::nullopt;
    static const Value::List none;
    const Value* dangerous = document.find("dangerous");
    const Value::List& rows = dangerous && dangerous->list() ? *dangerous->list() : none;
    Value::Object pattern{{"trial", 0}, {"seed", 0}, {"error", ""}, {"why", ""}, {"repeat", ""}};
    if (found.of_cell()) pattern.push_back({"link", ""});
    return put_evidence(*request.out, {{"campaign.txt", page_of(found, Columns{}).text(Colour::off)},
                                       {"dangerous.csv", to_csv(rows, pattern)},
                                       {"campaign.json", to_json(document)}});
}

proto::Result<Finished, Failure> finish(const Request& request, const CampaignFinding& found) {
    Finished finished{Status::done, with_provenance(describe(found), found.scenario), page_of(found, request.columns)};
    if (auto failure = keep(request, found, finished.document)) return *failure;
    if (!found.complete()) {
        finished.status = Status::interrupted;
        const std::string done = grouped(found.summary.trials()) + " of " + grouped(found.wanted) + " trials done";
        write_error_line(found.store ? "STOPPED  " + done + " and kept in " + on_one_line(*found.store) +
                                           ". Go on: same command, --resume"
                                     : "STOPPED  " + done +
                                           ". Nothing keeps them: write --store FILE.sqlite to go on "
                                           "where it ends");
        return finished;
    }
    if (found.verdict() != CampaignVerdict::pass) finished.status = Status::not_met;
    return finished;
}

std::optional<Failure> read_kept(TrialStore& store, sim::CampaignSummary& summary, const Until& until,
                                 const NoteInterrupt& interrupt) {
    return store.read(summary, [&](const TrialPiece&) -> std::optional<Failure> {
        if (interrupt.came() || until.over())
            return Failure{Status::interrupted, store.path(), 0, {}, "STOPPED while it was read; it is as it was"};
        return std::nullopt;
    });
}

proto::Result<Finished, Failure> run_trials(const Request& request, const CampaignRequest& wanted,
                                            const sim::Scenario& scenario) {
    // from before there is a store: it is never left half made, or as two files
    const NoteInterrupt interrupt;
    const Until until(wanted.until);
    std::optional<TrialStore> store;
    if (wanted.store) {
        auto opened = TrialStore::open(*wanted.store, wanted.key,
                                       wanted.resume ? TrialStore::Open::resume : TrialStore::Open::anew);
        if (!opened) return opened.error();
        store.emplace(std::move(opened).value());
    }
    const sim::TrialRange range = wanted.key.range();
    sim::CampaignSummary summary = summary_of(scenario, wanted.cell);
    if (store && wanted.resume)
        if (auto failure = read_kept(*store, summary, until, interrupt)) return *failure;
    if (store) store->write_of(summary);
    log_line("campaign of " + wanted.key.scenario + ", seed " + std::to_string(wanted.key.seed) + ", trials " +
             std::to_string(range.first + summary.trials()) + " to " + std::to_string(range.end) + ", " +
             std::to_string(request.jobs) + " threads");

    {
        // its line on the terminal is gone when the result is told
        Sink sink(summary, store ? &*store : nullptr, range.count(), until, interrupt,
                  request.arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes);
        sim::run_campaign(
            {scenario, wanted.key.seed, range.first + summary.trials(), range.end, request.jobs, wanted.cell}, sink);
        if (sink.failure()) return *sink.failure();
    }
    if (store)
        if (auto failure = store->commit()) return *failure;
    const CampaignFinding found{scenario,         summary,           wanted.key.seed, wanted.key.trials,
                                wanted.key.shard, wanted.key.shards, range.count(),   wanted.store};
    if (store) store->finish();
    return finish(request, found);
}

proto::Result<Finished, Failure> merge(const Request& request, const CampaignRequest& wanted,
                                       const sim::Scenario& scenario) {
    sim::CampaignSummary summary = summary_of(scenario, wanted.cell);
    auto trials = merge_stores(wanted, summary);
    if (!trials) return trials.error();
    const CampaignFinding found{scenario, summary, wanted.key.seed, trials.value(), 1, 1, trials.value(), {}};
    return finish(request, found);
}

/// A value that is replaced in every telegram makes whatever hangs on it look well.
std::optional<Failure> values_in_range(const sim::Scenario& scenario) {
    if (scenario.values.all.empty()) return std::nullopt;
    sim::Scenario calm = scenario;
    calm.faults.clear();
    calm.demands.clear();
    calm.duration = std::min(calm.duration, proto::seconds(5));
    for (const sim::ValueResult& value : sim::rehearse(calm, scenario.seed).values)
        if (value.out_of_range != 0)
            return Failure{Status::bad_input, scenario.file, 0, "value",
                           "a value is read out of its range even without a fault, so that no trial would show what "
                           "it does; see linkdrill check, and linkdrill run for how often"};
    return std::nullopt;
}

/// A trial has one fault in one link: what strikes two of them at once would be drawn for one only, and pass for
/// harmless.
std::optional<Failure> strikes_one_link(const sim::Scenario& scenario) {
    for (const sim::Fault& fault : scenario.faults)
        if (!fault.other_link.empty())
            return Failure{Status::bad_input, scenario.file, fault.where.line, fault.where.key,
                           "is between this link and " + in_quotes(fault.other_link) +
                               ", and a trial strikes one link; linkdrill run rehearses it, or write a "
                               "[link.neighbour] for a campaign and take other_link away"};
    return std::nullopt;
}

/// No demand over a stream without a bound would ever be late.
std::optional<Failure> has_bounds(const sim::WholeCell& cell) {
    for (const sim::CellLink& link : cell.links)
        for (const sim::OutsidePart& part : link.alone.outside_parts) {
            const std::size_t crossed = cell.link_called(part.link);
            if (!part.no_bound || crossed == cell.links.size()) continue;
            const sim::Place& where = cell.links[crossed].where;
            return Failure{Status::bad_input, cell.file, where.line, where.key,
                           in_quotes(part.link) +
                               " is a stream in which nothing measures the age of a value, so that "
                               "no demand over it would be late in a trial; write one_way_delay "
                               "in its [link.limit], or a profile with feedback or a time stamp"};
        }
    return std::nullopt;
}

/// What was asked for, of one link or, with `cell`, of the whole one.
proto::Result<Finished, Failure> run_what(const Request& request, const sim::Scenario& scenario,
                                          const sim::CellCampaign* cell) {
    const auto wanted = campaign_request(request, scenario, cell);
    if (!wanted) return wanted.error();
    const sim::ContractContext context(scenario.file, wanted.value().key.seed);
    switch (wanted.value().what) {
        case CampaignRequest::What::one_trial:
            return cell != nullptr ? show_cell_trial(request, wanted.value())
                                   : show_trial(request, wanted.value(), scenario);
        case CampaignRequest::What::join: return merge(request, wanted.value(), scenario);
        case CampaignRequest::What::plan: return plan_campaign(request, wanted.value(), scenario);
        case CampaignRequest::What::status: return show_status(request, wanted.value(), scenario);
        case CampaignRequest::What::trials: break;
    }
    return run_trials(request, wanted.value(), scenario);
}

proto::Result<Finished, Failure> run_cell(const Request& request, const GivenFile& given) {
    auto cell = given.cell();
    if (!cell) return cell.error();
    if (auto failure = cannot_reach(cell.value())) return std::move(*failure);
    for (const sim::CellLink& link : cell.value().links)
        for (const auto& refused : {values_in_range, strikes_one_link})
            if (auto failure = refused(link.alone)) return std::move(*failure);
    if (auto failure = has_bounds(cell.value())) return std::move(*failure);
    const sim::CellCampaign campaign = sim::campaign_of(std::move(cell).value());
    return run_what(request, campaign.whole, &campaign);
}

proto::Result<Finished, Failure> run(const Request& request) {
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (given.value().is_profile())
        return Failure{Status::bad_input, file, 0, {}, "is a telegram profile, it has no faults; name a scenario"};
    if (given.value().has_several_links() && !request.arguments.has("--link")) return run_cell(request, given.value());
    auto read = one_link(given.value(), request.arguments);
    if (!read) return read.error();
    sim::Scenario& scenario = read.value();
    if (auto failure = cannot_reach(scenario)) return std::move(*failure);
    for (const auto& refused : {values_in_range, strikes_one_link})
        if (auto failure = refused(scenario)) return std::move(*failure);
    if (scenario.faults.empty()) scenario.faults = sim::every_error(scenario);
    return run_what(request, scenario, nullptr);
}

}  // namespace

Command campaign_command() {
    using Values = OptionSpec::Values;
    return {
        .name = "campaign",
        .group = Command::Group::then,
        .does = "run many randomised trials of the scenario's faults",
        .positional = {"FILE", "scenario; its faults are varied, its demands are replaced by drawn ones",
                       PositionalSpec::Need::required},
        .options = {link_option(),
                    {"--trials", "N", "trials of the whole campaign, 1 to 1000000000000"},
                    {"--store", "FILE", "keep the trials in this SQLite file"},
                    {"--keep", "WHICH", "rows of the store: all, dangerous, or summary (none)", Values::one,
                     "all dangerous summary"},
                    {"--resume", "", "go on with the trials of the store"},
                    {"--until", "TIME", "stop after that time, such as \"55 min\", as Ctrl-C does"},
                    {"--shard", "K/N", "run part K of N only, for several computers"},
                    {"--merge", "FILES", "join the stores of all parts; runs nothing", Values::many},
                    {"--plan", "", "say what so many trials cost: processor hours, bytes, parts, commands"},
                    {"--status", "FILES", "say which parts are finished, unfinished and missing", Values::many},
                    {"--trial", "N", "run and show this one trial, 0 for the first"}},
        .example = "linkdrill campaign scenarios/veneer_press/all_errors.toml --trials 100000 --store runs.sqlite",
        .notes =
            {("A trial is a start of the link of its own with one fault: of the kind of one of the scenario's, with "
              "way, place, bits, extent and phase drawn anew, every second time with a demand around it. Machine and "
              "acknowledgement as in the scenario, only without waiting. For a scenario without a fault: of the eight "
              "communication errors."),
             ("Of a file with several links each trial starts the whole cell: the fault strikes one link, one of the "
              "controller all of them, and judged are all links, each demand over every link of its way, and the "
              "machines behind the struck link. --link names one to be tried alone."),
             ("Everything follows from seed and number of a trial: the result is the same with any number of threads, "
              "after any interruption, and in one or many parts."),
             ("With --store what was done is kept, at any moment: after Ctrl-C, SIGTERM, a full disk or a crash the "
              "same command with --resume goes on. One process at a time works on a store. Trials without a row are in "
              "the store's summary, which is joined in any number of parts without reading a row."),
             ("A store is one file when the command ends, however it ends; only a crash, kill -9 or a full disk may "
              "leave a second one beside it (FILE-wal), which belongs to it until --resume has taken it up. A store "
              "that was altered is refused and left alone."),
             ("Parts: --shard 1/8 to 8/8, a store each, then --merge with all of them (and --store for the joined "
              "one). Parts are only read, one open at a time. Builds of one model number may work on one campaign."),
             ("Times are counted exactly up to 16 384 different ones of a kind, beyond in steps of 2, 4, 8 ... ns, "
              "rounded up; the longest is always exact. Up to 10 000 dangerous trials are listed. So memory does not "
              "grow with the number of trials: some hundred kB for each kind of time."),
             ("Status 1 if a trial was dangerous, or stopped later than its bound: a result, and no reason to run it "
              "again. A scheduler that takes it for a failure (one that waits for status 0, or tries again) needs "
              "\"|| [ $? = 1 ]\" behind the command. Status 130: stopped before the end, go on with --resume."),
             "Shares have exact bounds of 95 %."},
        .run = run,
    };
}

}  // namespace tools
