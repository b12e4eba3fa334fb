// The plant: safeguards, signals, the machine, values.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow safeguard_rows[] = {
    {"name", "what the other tables call it, 1 to 60 letters", "needed"},
    {"at", R"(the end that reads it: `"controller"` or `"device"`)", "needed"},
    {"delay", "from the demand to its contact", R"(`"0 ms"`)"},
    {"minimum_hold", "a demand is held at least so long; a shorter one may vanish in the link",
     "watchdog and scan of that end; streaming: at least `missing_allowed` + 2 scans"},
    {"channels", "1 or 2 contacts; either takes the signal away at once", "1"},
    {"discrepancy",
     "two channels: if they differ for longer, the safeguard stays off until both were off together and it was reset",
     "needed with 2"},
    {"latched", "`true`: it stays off after a demand until it is reset", "`false`"},
    {"kind",
     R"(`"mat"`, `"curtain"`, `"field"`, `"interlocked-guard"`, `"emergency-stop"`, `"two-hand"`, `"enabling"`: `check` holds it against what its kind asks for (ISO 13850, ISO 13851, ISO 13855))",
     "not looked at"},
    {"function", R"(`"none"`: no safety function needs it)", "it should stand in a `[[function]]`"},
    {"reason", R"(why, with `function = "none"`)", "needed there"},
};

constexpr KeyRow signal_rows[] = {
    {"name", "what the other tables call it, 1 to 60 letters", "needed"},
    {"direction", R"(`"to-device"` or `"to-controller"`)", "needed"},
    {"all_of",
     "what must be free for a 1: safeguards at the sending end, signals that it receives, modes (1 while selected "
     "alone)",
     "this, `any_of` or `inverse_of`"},
    {"any_of", "the same, one of them is enough: a demand of one alone then reaches nothing", "not asked"},
    {"in_mode", "a mode or several: in all others the signal is 1 whatever its sources are", "every mode"},
    {"muted_by",
     R"(`{ sensors = ["belt_in", "belt_out"], order_within = "4 s", at_most = "60 s" }`: while both are interrupted, the second within so long of the first, it is 1 whatever its sources are; at most so long)",
     "nothing mutes it"},
    {"off_delay",
     "a demand lets it fall so much later, as a controller does that takes the power away after a ramp; a failing link "
     "takes it at once",
     R"(`"0 ms"`)"},
    {"inverse_of",
     "a signal of the same direction: this one is the second bit of its pair, sent as its complement. Instead of all "
     "keys above but `name` and `direction`",
     "none"},
    {"discrepancy", "with `inverse_of`: for how long both bits may be equal, at most 60 s", "needed there"},
};

constexpr KeyRow mode_rows[] = {
    {"name", "a way of running that is selected, such as setting up; the first one is selected at first", "needed"},
    {"takes", "until it is selected alone; meanwhile the guards of both modes act", R"(`"0 ms"`)"},
};

constexpr KeyRow machine_rows[] = {
    {"name", "what people and `[[function]]` call it", R"(`"machine"`)"},
    {"at", "the end at its drive", R"(`"device"`)"},
    {"reaction_delay", "from the output command to the first change of speed", R"(`"0 ms"`)"},
    {"speed", "full speed", "needed"},
    {"reduced_speed", "for stop `reduced-speed`", "none"},
    {"reduced_speed_from", "a `[[value]]` received at this end that lowers `reduced_speed`, see there", "none does"},
    {"reduced_speed_monitored",
     R"(`{ over = "10 mm/s", for = "20 ms", then = "category-1" }`: once the ramp should be over, a speed over the reduced one by more than `over` for longer than `for` stops it by `then` (safely limited speed, IEC 61800-5-2))",
     "nothing monitors it, and it ends no hazard"},
    {"braking", "deceleration with the power removed (category 0)", "needed for it"},
    {"ramp", "controlled deceleration (category 1, 2, reduced speed)", "needed for them"},
    {"brake",
     R"(`{ delay = "60 ms", drops = true }`: category 0 only; until the brake grips, `delay` after the drive's reaction, the load goes on, or falls freely with `drops`)",
     "none"},
    {"travel", "it goes there and back, again and again; the way of the point whose speed counts, for places of faults",
     "none"},
    {"travel_angle",
     R"(a turning machine: the same travel as an angle, at most `"360 deg"`; places may then be angles)", "none"},
    {"output_watchdog", "switches the outputs off when their end has not scanned for so long", "none"},
    {"reaction",
     R"(`signal`: one that is received there; `stop` at its 0: `"category-0"`, `"category-1"`, `"category-2"` (IEC 60204-1, 9.2) or `"reduced-speed"`)",
     "at least one", "`[[machine.reaction]]`"},
};

constexpr KeyRow required_rows[] = {
    {"to_device to_controller",
     "how old a value may become from sampling to output, and how late a demand may come; from the safety function, "
     "before any watchdog is chosen",
     "the bound that follows from the settings"},
    {"overall", "from the demand to the end of the hazard, sensor and stop included; for `linkdrill response`", "none"},
};

constexpr KeyRow value_rows[] = {
    {"name direction", "as of a signal; no signal has the same name", "needed"},
    {"type", R"(`"u8"`, `"u16"`, `"i16"`, `"u32"` or `"i32"`: bits, and `i` with a sign (two's complement))", "needed"},
    {"at", "its first byte, 0..", "needed"},
    {"order",
     R"(`"high-first"`, `"low-first"`; of four bytes also `"word-swapped"`: the low word first, each word high byte first)",
     R"(`"high-first"`)"},
    {"scale",
     "what one count is: a speed, length, duration, angle or acceleration, or a plain number such as 0.5, no finer "
     "than a millionth",
     "needed"},
    {"range", "both ends, in whole counts; what is read outside it is replaced. Without it nothing is out of range",
     "all that the type holds"},
    {"safe", R"(`"low"` or `"high"`: the end of the range that permits least)", "needed"},
    {"substitute", "what is used where the value is not there; must be the safe end of the range", "needed"},
    {"is", "it is always that", "this, `over_time`, `by_machine` or `from`"},
    {"over_time", "rows of `at` and `is`, in order; before the first one the substitute", "one of these four"},
    {"by_machine", R"(of a machine at the sending end: `"speed"`, or `{ stands = ..., reduced = ..., full = ... }`)",
     "one of these four"},
    {"from",
     "what the sending end uses of another value that it receives, of the same kind, safe end and a range that lies "
     "within; in a cell the controller may have it from another link",
     "one of these four"},
};

constexpr KeyRow plant_inside[] = {
    {"safeguard", "what protects people or stops the machine by hand, and who reads it", "none"},
    {"signal", "a safe bit: 1 only while its sources allow it", "none"},
    {"mode", "a way of running that is selected", "none"},
    {"machine", "the drive: its delay, its speed and how it stops", "none"},
    {"required", "what the safety function asks for, before any watchdog is chosen", "none"},
    {"value", "a whole number in the payload beside bits", "none"},
    {"signal.muted_by.sensors", R"(two safeguards with `function = "none"` that mute it together)", "needed"},
    {"signal.muted_by.order_within", "the second must follow the first within so long", "needed"},
    {"signal.muted_by.at_most", "longest time for which it is muted", "needed"},
    {"machine.reaction.signal", "one that is received at the machine's end", "needed"},
    {"machine.reaction.stop", "what its 0 does; categories of IEC 60204-1", "needed"},
    {"machine.brake.delay", "from the drive's reaction until it grips", "needed"},
    {"machine.brake.drops", "the load falls freely until then", "`false`"},
    {"machine.reduced_speed_monitored.over", "by how much the reduced speed may be exceeded", "needed"},
    {"machine.reduced_speed_monitored.for", "for how long it may be exceeded by more", "needed"},
    {"machine.reduced_speed_monitored.then", "the stop that follows", "needed"},
    {"value.over_time.at", "run time from which on it holds", "needed"},
    {"value.over_time.is", "the value from then on", "needed"},
    {"value.by_machine.stands value.by_machine.full", "the value in this state of the machine", "needed"},
    {"value.by_machine.reduced", "the value at the reduced speed", "needed if the machine has one"},
};

constexpr KeyTable tables[] = {
    {"safeguard", "safeguard.", "key of `[[safeguard]]` | meaning | default", safeguard_rows},
    {"signal", "signal.", "key of `[[signal]]` | meaning | default", signal_rows},
    {"mode", "mode.", "key of `[[mode]]` | meaning | default", mode_rows},
    {"machine", "machine.", "key of `[machine]` | meaning | default", machine_rows},
    {"required", "required.", "key of `[required]` | meaning | default", required_rows},
    {"value", "value.", "key of `[[value]]` | meaning | default", value_rows},
    {"", "", "", plant_inside}};

}  // namespace

std::span<const KeyTable> words_of_plant() { return tables; }

}  // namespace sim
