#pragma once
// What each instrument of an exercise shows, as the pages read it. Times are plant time in seconds.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "tools/training/exercise.hpp"

namespace tools {

Value plant_seconds(proto::Instant at);
/// A name of a scenario as people say it: "front_curtain_free" is "front curtain free".
std::string spoken(std::string name);
/// What the guard is, as the vocabulary has it: its kind, or "other".
std::string_view kind_of(const sim::Safeguard& guard);
/// The benches of all links, in their order.
std::vector<const sim::Bench*> benches_of(const Exercise& exercise);
/// Events of the whole line, samples of that link.
Value time_line_reading(const Exercise& exercise, const sim::Bench& link);
Value telegrams_reading(const Exercise& exercise, const sim::Bench& link);
/// What was typed at both ends of a link, beside its sheet.
Value settings_reading(const sim::Scenario& sheet, const sim::Scenario& typed);
Value neighbour_reading(const Exercise& exercise);
/// What came of work that is over, as a sentence; "" where nothing did.
std::string effect_words_of(const Exercise& exercise, const sim::Work& work);
/// The work under way, or nothing; what was done, in order; and what the zone is like by what was done.
Value work_state(const Exercise& exercise);
Value done_state(const Exercise& exercise);
Value zone_state(const Exercise& exercise);
/// What a dangerous act leads to, and all of them.
Value outcome_state(const Exercise& exercise, const sim::Consequence& one);
Value outcomes_state(const Exercise& exercise);
/// The plant to be drawn: controller, stations, guards and machines, and of them what is seen without an instrument.
Value plant_state(const Exercise& exercise);
/// The telegrams of a link around its first stop, each as a list: its number here, way (0 to the device), number in it,
/// made, due, what became of it and when, the measure that rejected it. Times in ms of plant time; null: not known.
/// Nothing if no end stopped.
Value ways_told(const sim::Bench& link);
/// One telegram: when, where, its bytes, and what the end made of it.
Value telegram_reading(const Exercise& exercise, const sim::Bench& link, const sim::Seen& seen);
/// Samples as lists: at, speed (mm/s), silence of controller and device (ms), signals sent, signals used, guards
/// demanded (a bit each), states of controller and device (4 times the one and the other, in the order of the
/// vocabulary). The samples are in order of time; where they are far apart there is no record between them.
Value::List strip_of(const std::vector<sim::StripSample>& samples, std::size_t every = 1);
/// The events of that span, also the hidden ones if `all`; of several links each with the name of its own.
Value::List events_between(const Exercise& exercise, proto::Instant from, proto::Instant to, bool all);

}  // namespace tools
