// What guards must do, distances and limits.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow function_rows[] = {
    {"name", "what it does, in one line of at most 120 letters; no two alike", "needed"},
    {"safeguards", "names of its safeguards, one or a list: each of them alone must lead to what is asked", "needed"},
    {"must",
     R"(`"category-0"`, `"category-1"`, `"category-2"` (IEC 60204-1, 9.2) or `"reduced-speed"`; or a list of rows `{ machine, must, within }`, one for a machine)",
     "needed"},
    {"machine", "its name; not beside a list", "the machine"},
    {"within",
     "from the demand to the end of the hazard, sensor and stop included; above 0, at most 1 h; not beside a list",
     "`[required]` `overall`, else no limit"},
    {"in_mode", "a mode or several: only in these is it asked", "every mode"},
    {"level", R"(`"SIL 1"` to `"SIL 3"` (IEC 62061) or `"PL a"` to `"PL e"` (ISO 13849-1))", "not compared"},
    {"returns",
     R"(what gives the speed back after a demand: `"after-start"`, `"after-reset"` or `"by-itself"` (from a reduced speed only). After a failure of the link it always takes a start)",
     R"(`"after-start"`)"},
    {"hazard_ends",
     R"(`"standstill"` or `"reduced-speed"`, if the risk assessment says that the hazard has ended there)",
     R"(`"standstill"`)"},
    {"distance",
     "the keys of `[distance]` below; `safeguard` only where it is that of one of several; `from_speed` and `after`, "
     "see below",
     "`[distance]`, if it names one of its guards"},
};

constexpr KeyRow distance_rows[] = {
    {"safeguard", "whose distance", "needed"},
    {"edition", R"(of ISO 13855: `"2010"` or `"2024"` (known from public commentary only))", "needed"},
    {"case",
     R"(`"right-angle"`, `"multi-beam"`, `"single-beam"`, `"parallel"`, `"mat"`, `"two-hand"`, `"interlocked-guard"` (without guard locking))",
     "needed"},
    {"resolution",
     "detection capability of a field: `right-angle`, up to 70 mm; `parallel`, checked against the height",
     "needed for `right-angle`"},
    {"height", "of a field along the floor, 0 to 1000 mm", "needed for `parallel`"},
    {"reaching_over", "reach over the upper edge, from the standard's table; the larger result counts",
     "not looked at"},
    {"reaching_through", "reach through a guard's opening before its switch reports, from ISO 13857",
     "needed for `interlocked-guard`"},
    {"supplement", "added in the edition of 2024: uncertainty, wear of the brake", R"(`"0 mm"`)"},
    {"there", "distance at hand", "only what is needed is told"},
};

constexpr KeyRow stopping_rows[] = {
    {"ramp_monitored",
     "something stops the machine at once if it leaves its ramp; else a ramp counts as its whole time and, after it, "
     "category 0 from full speed",
     "`false`"},
    {"power_off_after", "for a ramp that is not monitored: the power goes so long after the command", "drive and ramp"},
    {"standstill_monitored", "without it category 2 does not count", "`false`"},
    {"reduced_speed_ends_hazard",
     "says the risk assessment; without it, and without `reduced_speed_monitored` in `[machine]`, reduced speed does "
     "not count",
     "`false`"},
    {"measured",
     "a CSV file beside the scenario whose first line names a column `stopping_ms`: ten or more times from the output "
     "command to standstill; the larger of maximum and mean + 3 standard deviations counts, and the rehearsed "
     "acceptance test stops as slowly",
     "none"},
};

constexpr KeyRow part_rows[] = {
    {"name source", "of a part outside the link and its plant, such as a relay; where its values come from", "needed"},
    {"at", R"(`"before-link"` or `"after-link"`)", "needed"},
    {"delay", "at most, without a fault", "needed"},
    {"with_fault", "at most, with a fault in it; only one part has one at a time", "`delay`"},
};

constexpr KeyRow limit_rows[] = {
    {"trips_per_year", "how often the plant may stop for nothing", "0.1"},
    {"one_way_delay",
     "largest delay outside faults, promised by whoever runs the network: a stream in which nobody measures the age "
     "has a bound only with it",
     "none"},
};

constexpr KeyRow duty_inside[] = {
    {"function", "what each of some guards must do, from the risk assessment", "none"},
    {"distance", "the distance that `linkdrill response` reckons with", "none"},
    {"distance.from_speed", "the speed at which the stop begins, within `[[function]]`", R"(`"full"`)"},
    {"distance.after", "the function whose guards are passed first and have slowed the machine down",
     R"(needed with `from_speed = "reduced"`)"},
    {"stopping machine.stopping", "what may be counted of a stop", "the careful side of each"},
    {"part", "a part outside the link and its plant, such as a relay", "none"},
    {"limit", "how often the plant may stop for nothing, and what a network promises", "none"},
};

constexpr KeyTable tables[] = {{"function", "function.", "key of `[[function]]` | meaning | default", function_rows},
                               {"distance", "distance.", "key of `[distance]` | meaning | default", distance_rows},
                               {"stopping", "stopping.", "key of `[stopping]` | meaning | default", stopping_rows},
                               {"part", "part.", "key of `[[part]]` | meaning | default", part_rows},
                               {"limit", "limit.", "key of `[limit]` | meaning | default", limit_rows},
                               {"", "", "", duty_inside}};

}  // namespace

std::span<const KeyTable> words_of_duty() { return tables; }

}  // namespace sim
