// What the three parts of a live link may have written down, as text: refused, or joined into one result. The input
// holds the three records behind each other, each begun by a line of its own ("=").
#include <array>
#include <string_view>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/join.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/run/part_file.hpp"

namespace {

using sim::Part;

constexpr std::string_view between = "=\n";

/// The head is added here: it would keep every input out that bends it.
std::string head_of(const tools::PartOf& of, Part part) {
    return tools::part_head(of, part) + tools::part_alive({}, 7);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const auto scenario = sim::read_scenario(fuzz::source("tests/fuzz/short_lift.toml"));
    if (!scenario) fuzz::broken("short_lift.toml cannot be read");
    static const tools::PartOf of{scenario.value().title, "12", scenario.value().seed, 1};
    static const std::array<std::string, sim::part_count> heads{head_of(of, Part::controller),
                                                                head_of(of, Part::channel), head_of(of, Part::device)};
    const std::string text = fuzz::text_of(data, size);
    fuzz::may_refuse();
    sim::PartRecords records;
    std::size_t at = 0;
    for (unsigned part = 0; part < sim::part_count; ++part) {
        const std::size_t end = std::min(text.find(between, at), text.size());
        // as much of it as is whole: so a part that is started anew takes it up
        auto found =
            tools::part_so_far(heads[part] + text.substr(at, end - at), of, scenario.value(), static_cast<Part>(part));
        if (!found) return 0;
        sim::PartRecord* const record = &found->record;
        if (!sim::can_be(scenario.value(), static_cast<Part>(part), *record)) fuzz::broken("a record that cannot be");
        // what was read is what is written
        const auto again = tools::part_from(tools::part_text(of, static_cast<Part>(part), *record), of,
                                            scenario.value(), static_cast<Part>(part));
        if (!again || again->log.events.size() != record->log.events.size() || again->telegrams != record->telegrams ||
            again->absences.size() != record->absences.size())
            fuzz::broken("a record is not read back");
        records[part] = std::move(*record);
        at = std::min(end + between.size(), text.size());
    }
    const sim::Scenario run = sim::with_restarts(scenario.value(), records);
    const sim::ScenarioLimits limits = sim::limits_of(run);
    auto joined = sim::join(run, run.seed, limits, records);
    if (!joined) return 0;
    fuzz::took();
    sim::conclude(run, limits, *joined);
    return 0;
}
