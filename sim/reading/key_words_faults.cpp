// What happens: demands, acts, faults; and several links.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow demand_rows[] = {
    {"safeguard", "which one asks for a stop", "needed"},
    {"at", "run time", "needed"},
    {"lasting", "for how long it asks", "its `minimum_hold`"},
    {"channel", R"(`"a"` or `"b"`: of a safeguard with two channels only that one opens)", "both"},
};

constexpr KeyRow operator_rows[] = {
    {"on", R"(`"acknowledgement-requested"` or `"link-running"`, each time that happens)", "one of `on`, `at`"},
    {"after", "so long after the event", R"(`"0 ms"`)"},
    {"at", "run time, once", "one of `on`, `at`"},
    {"does",
     R"(`"acknowledge"` (press and let go), `"hold-acknowledge"` (press and keep), `"start-machine"`, `"reset"` (of the `safeguard` named: press and let go; starts nothing), `"hold-reset"` (press and never let go: held for good, or stuck), `"select-mode"`)",
     "needed"},
    {"safeguard", R"(for `"reset"` and `"hold-reset"`)", "needed there"},
    {"held_for", R"(for `"reset"`: from pressing until the button is let go)", "let go at once"},
    {"mode", R"(for `"select-mode"`)", "needed there"},
};

constexpr KeyRow fault_rows[] = {
    {"way", "see below", "needed"},
    {"error", "for readers; must be the one of its way", "that one"},
    {"direction", R"(`"to-device"`, `"to-controller"` or `"both"`)", R"(`"to-device"`)"},
    {"at", "it begins at that run time", "one of these four"},
    {"on_telegram", "it begins with the n-th process telegram on its way (1 is the first)", "one of these four"},
    {"after_demand before_demand",
     "it begins `offset` after or before the first demand on the safeguard named (its `at`, not its contact)",
     "one of these four"},
    {"offset", "with them", R"(`"0 ms"`)"},
    {"times", "so many telegrams in a row", "1; with `until` all"},
    {"lasting", "all telegrams of that time; not with `times`", "none"},
    {"every", "only each so-manyth of them", "1"},
    {"expect",
     R"(`{ outcome, detected_by, at }`: `"safe-state"`, `"tolerated"`, `"no-effect"`, `"dangerous"`, or `"never-ran"` of a start; one measure or a list of those that will do, `"none"` for nobody; `"controller"` or `"device"`)",
     "nothing"},
};

constexpr KeyRow condition_rows[] = {
    {"while",
     R"(the end named by `while_end` is in this state: `"start-up"`, `"running"`, `"safe-state"` or `"awaiting-acknowledgement"`)",
     "any"},
    {"while_end", R"(`"controller"` or `"device"`)", "needed with `while`"},
    {"while_machine", R"(`"moving"` or `"still"`)", "either"},
    {"from_position to_position",
     R"(the machine is between these places of its `travel`, both included, moving or not: `"200 mm"`, or `"30 deg"` with `travel_angle`)",
     "anywhere"},
    {"until",
     R"(the fault is over once `"safe-state"`: either end goes to it, `"acknowledged"`: an acknowledgement counts, `"machine-still"`: a motion comes to its end; counted from the first telegram on its way since its begin. `times` and `lasting` may end it earlier)",
     "none"},
};

constexpr KeyRow cell_rows[] = {
    {"controller", "`name`, `address`, and what it has alike for all links", "needed", "`[controller]`"},
    {"end.scan", "one scan serves all links, each in its own cycle, which must be a whole multiple",
     "the largest that fits all cycles", "`scan` of it"},
    {"link.name", "of a link, for `link = ` and `--link`", "needed", "`[[link]]` `name`"},
    {"machine machine.at",
     "as `[machine]`; `at` is the station that commands it, a device's name, one machine a station; "
     "`[machine.stopping]` is its `[stopping]`",
     "none", "`[[machine]]`"},
    {"safeguard.at", "the station that reads it", "needed", "`at` of `[[safeguard]]`"},
    {"signal.link value.link",
     "which link carries it. A signal to a device may be made of signals that other links bring to the controller",
     "needed", "`link` of `[[signal]]`, `[[value]]`"},
    {"function.machine", "which machine must", "needed, unless there is one",
     "`machine` of `[[function]]`, or of each row of `must`"},
    {"fault.link",
     R"(which link it strikes; a fault of the controller (`at_end = "controller"`) strikes all and names none)",
     "needed", "`link` of `[[fault]]`"},
    {"fault.other_link",
     "for `neighbour`, `swap` and `misdeliver`: the link of this cell that its telegrams come from or go to, see "
     "`[[fault]]`",
     "the next link; with a `[link.neighbour]` that one", "`other_link` of a `[[fault]]`"},
    {"operator.link", R"(which link, or `"all"`, which `check` cautions against)", "needed",
     "`link` of an `acknowledge`"},
    {"limit.trips_per_year",
     "how often all links together may stop for nothing; each has its own in `[link.limit]`, and `one_way_delay` only "
     "there",
     "nothing is asked of the sum", "`[limit]` `trips_per_year`"},
    {"operator.machine", R"(which one; `on = "link-running"` is its own link)", "needed, unless there is one",
     "`machine` of a `start-machine`"},
    {"segment",
     "`name`, `links`, `source`: links that share a wire, a switch or a radio, and why nothing joins them to those of "
     "other segments. A link in none shares with every other",
     "all share", "`[[segment]]`"},
};

constexpr KeyRow fault_inside[] = {
    {"demand", "a safeguard asks for its function", "none"},
    {"operator", "what people do", "nothing"},
    {"fault", "what goes wrong, when, and what is expected of it", "none"},
    {"fault.expect.outcome", "what must come of it", "not looked at"},
    {"fault.expect.detected_by", "the measure that catches it, or several that will do", "not looked at"},
    {"fault.expect.at", "the end that catches it", "not looked at"},
    {"fault.bits", "for `flip-bits`: which, counted from the first byte's highest bit", "needed there"},
    {"fault.count", "for `random-bits`: how many bits; for `truncate`: how many bytes", "`1`"},
    {"fault.length", "for `burst`: bits from the first to the last", "needed there"},
    {"fault.rate", "for `bit-rate`: probability of each bit", "needed there"},
    {"fault.field", "where bits are bent", R"(`"whole"`)"},
    {"fault.back", "for `beside` and `instead`: how many telegrams ago", "`1`"},
    {"fault.hold", "for `hold`: for how long it is held back", "needed there"},
    {"fault.extra", "for `step` and `creeping`: so much later, or so much more in every second", "needed there"},
    {"fault.keep_order", "for `step` and `creeping`: later telegrams do not overtake", "`true`"},
    {"fault.other_link", "for `neighbour`, `swap` and `misdeliver`, in a file with several links", "see there"},
    {"fault.at_end",
     "the end at which it happens, for `restart`, `stall`, `frozen-data`, `clock-drift`, `drive-does-not-slow`",
     "needed there"},
    {"fault.drift_ppm", "for `clock-drift`: fast by so many millionths, slow with a minus", "needed there"},
    {"link.device", "the station at the other end of this link", "needed"},
    {"link.controller link.bits link.values link.channel link.required link.limit link.neighbour link.part",
     "of this link alone, as in a file with one link", "none"},
    {"segment.name", "what people call it", "needed"},
    {"segment.links", "names of the links that share it", "needed"},
    {"segment.source", "why nothing joins them to those of other segments", "needed"},
};

constexpr KeyTable tables[] = {{"demand", "demand.", "key of `[[demand]]` | meaning | default", demand_rows},
                               {"operator", "operator.", "key of `[[operator]]` | meaning | default", operator_rows},
                               {"fault", "fault.", "key | meaning | default", fault_rows},
                               {"condition", "fault.", "key | meaning | default", condition_rows},
                               {"cell", "", "table, key | meaning | default", cell_rows},
                               {"", "", "", fault_inside}};

}  // namespace

std::span<const KeyTable> words_of_faults() { return tables; }

}  // namespace sim
