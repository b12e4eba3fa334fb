// linkdrill campaign FILE --trials N --plan: what a campaign of that size costs, by some of it run here.
#include <algorithm>
#include <array>
#include <bit>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <filesystem>

#include <sys/stat.h>
#include <unistd.h>

#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

constexpr std::size_t indent = 12;
constexpr double part_s = 1800.0;       ///< aimed at, of one part
constexpr double part_most_s = 3600.0;  ///< before a part gets a second processor
constexpr std::uint64_t parts_most = 1000;
constexpr auto tried_for = std::chrono::seconds(1);

/// Of this process, all its threads: other work on the computer does not count.
double processor_s() {
    timespec now{};
    ::clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

/// Some trials into a summary and a store, for a second.
class Tried final : public sim::CampaignSink {
  public:
    Tried(sim::CampaignSummary& summary, TrialStore& store) : summary_(summary), store_(store) {}
    bool take(const sim::TrialBatch& batch) override {
        summary_.add(batch);
        failure_ = store_.add(batch);
        return !failure_;
    }
    bool go_on() override { return std::chrono::steady_clock::now() - begun_ < tried_for; }
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }

  private:
    sim::CampaignSummary& summary_;
    TrialStore& store_;
    std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now();
    std::optional<Failure> failure_;
};

/// What was measured.
struct Measured {
    std::uint64_t trials = 0;
    double run_s = 0;              ///< of a processor, for a trial with its store
    double store_bytes = 0;        ///< of the store of these trials
    double read_s = 0;             ///< to read the store once more
    std::uint64_t time_kinds = 0;  ///< distributions that have values
    double join_kind_s = 0;        ///< to take up a full one of them from bytes and join it
};

/// A kind of times that is full, after so many values that their number no longer changes how wide it is.
void measure_full_kind(Measured& measured) {
    constexpr unsigned values = 400'000;
    constexpr std::uint64_t range_ns = 200'000'000;
    sim::Distribution full;
    for (std::uint64_t i = 0; i < values; ++i)
        full.add({static_cast<std::int64_t>(sim::scale(sim::scramble(i), range_ns))});
    std::vector<std::uint8_t> bytes;
    full.to_bytes(bytes);
    constexpr unsigned rounds = 20;
    sim::Distribution joined;
    const double begun = processor_s();
    for (unsigned i = 0; i < rounds; ++i) {
        std::span<const std::uint8_t> left(bytes);
        if (const auto taken = sim::Distribution::from_bytes(left)) joined.join(*taken);
    }
    measured.join_kind_s = (processor_s() - begun) / rounds;
}

std::uint64_t kinds_of(sim::CampaignSummary& summary) {
    std::uint64_t kinds = 0;
    for (sim::ErrorSummary& error : summary.errors())
        for (const sim::Distribution* times : error.times())
            if (times->count() > 0) ++kinds;
    return kinds;
}

proto::Result<Measured, Failure> try_some(const CampaignRequest& wanted, const sim::Scenario& scenario,
                                          const std::string& path) {
    Measured measured;
    {
        auto opened = TrialStore::open(path, wanted.key, TrialStore::Open::anew);
        if (!opened) return opened.error();
        TrialStore store(std::move(opened).value());
        sim::CampaignSummary summary = summary_of(scenario, wanted.cell);
        store.write_of(summary);
        Tried tried(summary, store);
        const double begun = processor_s();
        sim::run_campaign({scenario, wanted.key.seed, 0, wanted.key.trials, 1, wanted.cell}, tried);
        if (tried.failure()) return *tried.failure();
        if (auto failed = store.commit()) return *failed;
        measured.trials = summary.trials();
        measured.run_s = (processor_s() - begun) / static_cast<double>(std::max<std::uint64_t>(measured.trials, 1));
        measured.time_kinds = kinds_of(summary);
        store.finish();
    }
    struct stat about {};
    if (::stat(path.c_str(), &about) == 0) measured.store_bytes = static_cast<double>(about.st_size);
    const double begun = processor_s();
    auto opened = TrialStore::open(path, wanted.key, TrialStore::Open::read);
    if (!opened) return opened.error();
    sim::CampaignSummary again = summary_of(scenario, wanted.cell);
    if (auto failed = opened.value().read(again, [](const TrialPiece&) { return std::optional<Failure>(); }))
        return *failed;
    measured.read_s = processor_s() - begun;
    measure_full_kind(measured);
    return measured;
}

/// The same in a file that is there for that long only.
proto::Result<Measured, Failure> try_some(const CampaignRequest& wanted, const sim::Scenario& scenario) {
    std::error_code error;
    const std::filesystem::path folder = std::filesystem::temp_directory_path(error);
    const std::string path =
        ((error ? "." : folder) / ("linkdrill_plan_" + std::to_string(::getpid()) + ".sqlite")).string();
    TrialStore::remove(path);
    const RemoveOnInterrupt removed(path.c_str());
    auto measured = try_some(wanted, scenario, path);
    TrialStore::remove(path);
    return measured;
}

struct Plan {
    double core_hours = 0, bytes = 0, join_s = 0, part_hours = 0;
    std::uint64_t parts = 1, processors = 1;  ///< the latter of each part
};

/// At most, of a kind of times of a part of so many trials: for each step its difference to the one before, and a
/// count, of seven bits a byte. Counts differ; together they are shortest to write where they are alike, and take a
/// byte more each at most.
double full_kind_bytes(double trials) {
    constexpr unsigned difference_bytes = 2, bits_of_a_byte = 7;
    const auto steps = static_cast<double>(sim::Distribution::steps_most);
    const auto bits = static_cast<unsigned>(std::bit_width(static_cast<std::uint64_t>(trials / steps) + 1));
    return steps * (difference_bytes + 1 + (bits + bits_of_a_byte - 1) / bits_of_a_byte);
}

Plan plan_of(const Measured& measured, std::uint64_t trials, Keep keep) {
    const auto count = static_cast<double>(trials);
    const double run_s = measured.run_s * count;
    Plan plan{.core_hours = run_s / 3600.0};
    plan.parts = static_cast<std::uint64_t>(
        std::clamp(std::ceil(run_s / part_s), 1.0, static_cast<double>(std::min(parts_most, trials))));
    const auto parts = static_cast<double>(plan.parts);
    plan.processors = static_cast<std::uint64_t>(std::max(1.0, std::ceil(run_s / parts / part_most_s)));
    plan.part_hours = run_s / parts / static_cast<double>(plan.processors) / 3600.0;
    const double tried = static_cast<double>(std::max<std::uint64_t>(measured.trials, 1));
    if (keep == Keep::all) {
        plan.bytes = measured.store_bytes * std::max(count / tried, parts);
        plan.join_s = measured.read_s * count / tried;
        return plan;
    }
    // What was tried grew with its trials; it ends where each kind of time is full. Blocks, and rows of dangerous
    // trials, go on growing.
    constexpr double block_bytes = 48.0;
    constexpr double block_join_s = 1.5e-6;  // measured, DEVELOPERS.md
    const double full = static_cast<double>(measured.time_kinds) * full_kind_bytes(count / parts);
    const double blocks = count / static_cast<double>(block_trials);
    const double share = std::min(1.0, count / parts / tried);
    const double of_trials =
        keep == Keep::dangerous ? std::max(count / tried, parts * share) : parts * std::max(share, 1.0);
    plan.bytes = measured.store_bytes * of_trials + full * parts + blocks * block_bytes;
    plan.join_s = (measured.read_s + static_cast<double>(measured.time_kinds) * measured.join_kind_s) * parts +
                  blocks * block_join_s;
    return plan;
}

/// Two digits that matter, and a unit.
std::string about(double value) {
    if (value >= 100.0) return grouped(static_cast<std::uint64_t>(std::round(value)));
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), value >= 10.0 ? "%.0f" : value >= 1.0 ? "%.1f" : "%.2g", value);
    return text.data();
}

std::string bytes_in_words(double bytes) {
    constexpr std::array<const char*, 5> units{"bytes", "kB", "MB", "GB", "TB"};
    std::size_t unit = 0;
    for (; bytes >= 1000.0 && unit + 1 < units.size(); ++unit) bytes /= 1000.0;
    return about(bytes) + " " + units.at(unit);
}

std::string time_in_words(double s) {
    if (s >= 5400.0) return about(s / 3600.0) + " hours";
    if (s >= 90.0) return about(s / 60.0) + " minutes";
    return about(s) + " s";
}

struct Commands {
    std::string here, part, join, slurm;
};

Commands commands_of(const CampaignRequest& wanted, const sim::Scenario& scenario, const Plan& plan) {
    const std::string file = file_and_link(scenario);
    const std::string what = "linkdrill campaign " + file + " --seed " + std::to_string(wanted.key.seed);
    const std::string trials = " --trials " + std::to_string(wanted.key.trials);
    const std::string keep = " --keep " + std::string(name_of(wanted.key.keep));
    const std::string parts = std::to_string(plan.parts);
    if (plan.parts == 1) return {what + trials + keep + " --store runs.sqlite --resume", "", "", ""};
    return {"",
            what + trials + keep + " --shard {}/" + parts + " --store part-{}.sqlite --resume --jobs " +
                std::to_string(plan.processors),
            what + " --merge part-*.sqlite",
            // its jobs know a file, and no link of one
            !scenario.cell_link.empty()
                ? ""
                : "submit " + file + trials + keep + " --seed " + std::to_string(wanted.key.seed) + " --parts " +
                      parts + " --processors " + std::to_string(plan.processors)};
}

Page page_of(const CampaignRequest& wanted, const sim::Scenario& scenario, const Measured& measured, const Plan& plan,
             Columns columns) {
    Page page(columns);
    page.headline("PLAN", Hue::none,
                  plain(scenario.title) + ": " + counted(wanted.key.trials, "trial", "trials") + " take " +
                      time_in_words(plan.core_hours * 3600.0) + " of one processor like this.");
    page.paragraph_at(indent, "Measured    ",
                      counted(measured.trials, "trial", "trials") + " in about a second here: " +
                          about(measured.run_s * 1e6) + " us of a processor each, with their store.");
    page.paragraph_at(indent, "Parts       ",
                      counted(plan.parts, "part", "parts") + " of " + time_in_words(plan.part_hours * 3600.0) + ", " +
                          counted(plan.processors, "processor", "processors") + " each.");
    page.paragraph_at(indent, "Stores      ",
                      (wanted.key.keep == Keep::all ? "" : "at most some ") + bytes_in_words(plan.bytes) +
                          " in all, with --keep " + std::string(name_of(wanted.key.keep)) + ".");
    page.paragraph_at(indent, "Join        ", time_in_words(plan.join_s) + " of one processor.");
    const Commands commands = commands_of(wanted, scenario, plan);
    page.blank();
    if (plan.parts == 1) {
        page.paragraph_at(indent, "Run         ", commands.here);
        return page;
    }
    page.paragraph_at(indent, "A part      ", commands.part);
    page.paragraph_at(indent, "            ",
                      "once for each number from 1 to " + std::to_string(plan.parts) +
                          " in place of {}, for example by GNU parallel; given once more it goes on.");
    page.paragraph_at(indent, "Join        ", commands.join);
    if (commands.slurm.empty()) return page;
    page.paragraph_at(indent, "Slurm       ", commands.slurm);
    page.paragraph_at(indent, "            ", "a script of tools/cluster/, which does both.");
    return page;
}

}  // namespace

proto::Result<Finished, Failure> plan_campaign(const Request& request, const CampaignRequest& wanted,
                                               const sim::Scenario& scenario) {
    const auto measured = try_some(wanted, scenario);
    if (!measured) return measured.error();
    const Plan plan = plan_of(measured.value(), wanted.key.trials, wanted.key.keep);
    const Commands commands = commands_of(wanted, scenario, plan);
    Value::List typed;
    for (const std::string* command : {&commands.here, &commands.part, &commands.join, &commands.slurm})
        if (!command->empty()) typed.emplace_back(*command);
    return Finished{Status::done,
                    Value::Object{{"scenario", scenario.file},
                                  {"seed", wanted.key.seed},
                                  {"trials", wanted.key.trials},
                                  {"keep", std::string(name_of(wanted.key.keep))},
                                  {"measured_trials", measured.value().trials},
                                  {"trial_us", measured.value().run_s * 1e6},
                                  {"core_hours", plan.core_hours},
                                  {"bytes", std::ceil(plan.bytes)},
                                  {"join_s", plan.join_s},
                                  {"parts", plan.parts},
                                  {"processors", plan.processors},
                                  {"part_hours", plan.part_hours},
                                  {"commands", std::move(typed)}},
                    page_of(wanted, scenario, measured.value(), plan, request.columns)};
}

}  // namespace tools
