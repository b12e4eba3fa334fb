// Sections 5 to 8 of the report: settings, injections, time line, reaction times.
#include <algorithm>
#include <cmath>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

constexpr std::size_t events_in_table = 250;

using Row = std::vector<SheetCell>;

Row injection_row(const Dossier& d, const Value& i) {
    const std::string outcome = look_up_text(i, "outcome");
    const auto ms = [&](const Value& value, Rounding rounding) { return SheetCell::number(tenths(value, rounding)); };
    const std::string error = look_up_text(i, "error");
    std::string caught = word_for_measure(look_up_text(i, "detected_by"));
    if (const std::string owing = look_up_text(i, "owing_to");
        !owing.empty() && owing != look_up_text(i, "detected_by"))
        caught += ", owing to the " + word_for_measure(owing);
    std::string as_expected = yes_or_no(look_up(i, "as_expected"));
    if (const std::string why = look_up_text(i, "why"); !why.empty()) as_expected += ": " + why;
    const std::string direction = look_up_text(i, "direction");
    const std::string way = direction == "to-device"       ? "C>D"
                            : direction == "to-controller" ? "D>C"
                            : direction.empty()            ? "at " + look_up_text(i, "at_end")
                                                           : direction;
    std::string end = look_up_text(i, "detected_end");
    if (!end.empty()) end = name_of_end(d, end);
    return {SheetCell::number(scalar_text(look_up(i, "id"))),
            SheetCell::number(seconds(look_up_number(i, "at_ms"))),
            error.empty() ? look_up_text(i, "fault") : error,
            look_up_text(i, "words"),
            way,
            {word_for_outcome(outcome), SheetCell::Kind::text, mark_of_outcome(outcome)},
            or_dash(caught),
            or_dash(end),
            ms(look_up(i, "detect_ms"), Rounding::up),
            ms(look_up(i, "safe_state_ms", "controller"), Rounding::up),
            ms(look_up(i, "safe_state_ms", "device"), Rounding::up),
            ms(look_up(i, "standstill_ms"), Rounding::up),
            ms(look_up(i, "allowed_ms"), Rounding::down),
            or_dash(look_up_text(i, "expected")),
            as_expected};
}

void injections(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "6", .text = "Injections", .id = "injections", .page = SheetHeading::Page::next_wide});
    SheetTable table{.caption = "What was injected, what caught it, and how long the machine ran on",
                     .columns = {"No", "At (s)", "Error", "How and where", "Way", "Outcome", "Caught by (measure)",
                                 "At end", "Caught after (ms)", "Controller safe after (ms)", "I/O safe after (ms)",
                                 "Machine still after (ms)", "Allowed (ms)", "Expected", "As expected?"},
                     .rows = {},
                     .look = "dense"};
    for (const Value& injection : look_up_list(d.result, "injections"))
        table.rows.push_back(injection_row(d, injection));
    // a dangerous one comes first, whatever its number
    std::stable_partition(table.rows.begin(), table.rows.end(),
                          [](const Row& row) { return row[5].mark == Mark::dangerous; });
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::soft,
                  "C>D: from " + name_of_end(d, "controller") + " to " + name_of_end(d, "device") +
                      "; D>C: back. Everything \"after\" counts from the injection. A caught error that neither end "
                      "acted on leaves a \"-\". Allowed is calculated from the settings, never from what was seen."});
}

struct Event {
    double at = 0;
    std::string where, what;
    Mark mark = Mark::none;
};

Mark mark_of_state(const std::string& state) {
    if (state == "running") return Mark::running;
    if (state == "start-up") return Mark::starting;
    if (state == "awaiting acknowledgement") return Mark::waits;
    return Mark::stopped;
}

std::vector<Event> events_of(const Dossier& d) {
    std::vector<Event> events;
    for (const char* end : {"controller", "device"})
        for (const Value& change : look_up_list(d.time_line, "states", std::string_view(end))) {
            const std::string state = look_up_text(change, "state"), measure = look_up_text(change, "measure");
            std::string cause = look_up_text(change, "cause");
            if (!measure.empty()) cause += ": " + word_for_measure(measure);
            events.push_back({look_up_number(change, "at_ms").value_or(0), name_of_end(d, end),
                              word_for_state(state) + " (" + cause + ")", mark_of_state(state)});
        }
    for (const Value& i : look_up_list(d.result, "injections")) {
        const auto at = look_up_number(i, "at_ms"), detect = look_up_number(i, "detect_ms");
        const std::string number = "injection " + scalar_text(look_up(i, "id"));
        if (at) events.push_back({*at, "channel", number + ": " + look_up_text(i, "words"), Mark::none});
        if (at && detect)
            events.push_back({*at + *detect, name_of_end(d, look_up_text(i, "detected_end")),
                              number + " caught by: " + word_for_measure(look_up_text(i, "detected_by")), Mark::none});
    }
    for (const Value& demand : look_up_list(d.result, "demands"))
        events.push_back({look_up_number(demand, "at_ms").value_or(0), "safeguard",
                          "demand on " + look_up_text(demand, "safeguard"), Mark::none});
    std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.at < b.at; });
    return events;
}

void time_line(Sheet& sheet, const Dossier& d) {
    if (is_null(d.time_line)) return;
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "7", .text = "Time line", .id = "time-line", .page = SheetHeading::Page::next});
    const std::vector<Event> events = events_of(d);
    sheet.blocks.emplace_back(
        SheetChart{"timeline", "States, signals and machine over time",
                   "States of both ends, each signal as its user reads it, the machine's speed, and where faults were "
                   "injected and caught. Arrow keys move, + and - change the scale, Home and End go to the begin and "
                   "the whole.",
                   SheetChart::Tools::zoom});
    if (const std::string thinned = look_up_text(d.time_line, "thinned"); !thinned.empty())
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::strong, thinned});
    SheetTable table{.caption = "The same as a table", .columns = {"At (s)", "Where", "What"}, .rows = {}};
    for (std::size_t i = 0; i < std::min(events.size(), events_in_table); ++i)
        table.rows.push_back({SheetCell::number(seconds(events[i].at)),
                              events[i].where,
                              {events[i].what, SheetCell::Kind::text, events[i].mark}});
    sheet.blocks.emplace_back(std::move(table));
    if (events.size() > events_in_table)
        sheet.blocks.emplace_back(
            SheetText{SheetText::Kind::strong, "The first " + std::to_string(events_in_table) + " of " +
                                                   std::to_string(events.size()) +
                                                   " events; the rest is in timeline.json and in the chart."});
}

/// One error's times in ms, and what is allowed.
struct Reaction {
    std::string error;
    std::uint64_t trials = 0;
    std::optional<double> median = {}, p99 = {}, longest = {}, allowed = {};
};

Row row_of(const Reaction& r) {
    std::optional<double> spare;
    if (r.longest && r.allowed) spare = *r.allowed - *r.longest;
    return {r.error,
            SheetCell::number(grouped(r.trials)),
            SheetCell::number(tenths(r.median, Rounding::up)),
            SheetCell::number(tenths(r.p99, Rounding::up)),
            SheetCell::number(tenths(r.longest, Rounding::up)),
            SheetCell::number(tenths(r.allowed, Rounding::down)),
            SheetCell::number(tenths(spare, Rounding::down))};
}

std::vector<Reaction> reactions_of_campaign(const Value::Object& by_error) {
    std::vector<Reaction> found;
    for (const Value::Member& error : by_error) {
        // a campaign without a machine has only the ends' own times
        const bool machine = !is_null(look_up(error.value, "standstill_ms", "max"));
        const char* times = machine ? "standstill_ms" : "safe_state_ms";
        const auto of = [&](const char* key) { return look_up_number(error.value, times, key); };
        found.push_back({error.key, static_cast<std::uint64_t>(look_up_number(error.value, "trials").value_or(0)),
                         of("median"), of("p99"), of("max"), look_up_number(error.value, "allowed_ms")});
    }
    return found;
}

std::vector<Reaction> reactions_of_run(const Value& result) {
    std::vector<Reaction> found;
    std::vector<std::vector<double>> still;
    for (const Value& i : look_up_list(result, "injections")) {
        std::string name = look_up_text(i, "error");
        if (name.empty()) name = look_up_text(i, "fault");
        std::size_t at = 0;
        while (at < found.size() && found[at].error != name) ++at;
        if (at == found.size()) {
            found.push_back({.error = name});
            still.emplace_back();
        }
        if (const auto took = look_up_number(i, "standstill_ms")) still[at].push_back(*took);
        if (const auto most = look_up_number(i, "allowed_ms"))
            found[at].allowed = std::min(found[at].allowed.value_or(*most), *most);
    }
    for (std::size_t at = 0; at < found.size(); ++at) {
        std::vector<double>& times = still[at];
        found[at].trials = times.size();
        if (times.empty()) continue;
        std::sort(times.begin(), times.end());
        const auto part = [&](double share) {
            return times[static_cast<std::size_t>(std::llround(share * static_cast<double>(times.size() - 1)))];
        };
        found[at].median = part(0.5);
        found[at].p99 = part(0.99);
        found[at].longest = times.back();
    }
    return found;
}

/// Trials of a campaign by error; without one those of this run.
void reaction_table(Sheet& sheet, const Dossier& d) {
    const Value::Object* by_error = look_up(d.campaign, "by_error").object();
    SheetTable table{
        .caption = by_error ? "Machine still after (without one: both ends safe), by error, in the campaign"
                            : "Machine still after, by error",
        .columns = {"Error", "Trials", "Median (ms)", "99 % (ms)", "Longest (ms)", "Allowed (ms)", "Spare (ms)"},
        .rows = {}};
    for (const Reaction& r : by_error ? reactions_of_campaign(*by_error) : reactions_of_run(d.result))
        table.rows.push_back(row_of(r));
    sheet.blocks.emplace_back(std::move(table));
}

void reactions(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "8", .text = "Reaction times against the allowed", .id = "reactions"});
    const Value::List& injections = look_up_list(d.result, "injections");
    const bool any = std::any_of(injections.begin(), injections.end(), [](const Value& i) {
        return !is_null(look_up(i, "standstill_ms")) || !is_null(look_up(i, "detect_ms"));
    });
    if (!any)
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "No injection was caught or led to a stop."});
    else
        sheet.blocks.emplace_back(
            SheetChart{"reaction", "From each injection until caught, both ends safe, machine still",
                       "One column for each injection; the ink line is what is allowed until the machine stands. Below "
                       "the line is good; a column without a mark was not acted on."});
    reaction_table(sheet, d);
    const Value& response = look_up(d.result, "response");
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain,
        "Response from sampling to output command: calculated worst " +
            tenths(look_up(response, "bound_ms"), Rounding::up) + " ms, worst seen " +
            tenths(look_up(response, "worst_seen_ms"), Rounding::up) + " ms, required " +
            tenths(look_up(response, "required_ms"), Rounding::down) + " ms. Without faults: " +
            grouped(static_cast<std::uint64_t>(look_up_number(d.result, "twin", "cycles").value_or(0))) + " cycles, " +
            scalar_text(look_up(d.result, "twin", "spurious_trips")) + " stops for nothing. " +
            (look_up(d.result, "twin", "recovered").is_true()
                 ? "After every stop the link came back only when acknowledged, the machine only when started."
                 : "RECOVERY FAILED: " + look_up_text(d.result, "twin", "why_not_recovered") + ".")});
}

}  // namespace

void add_settings(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{
        .margin = "5", .text = "Settings of both ends", .id = "settings", .page = SheetHeading::Page::next});
    SheetTable table{.caption = "Settings side by side; differences are marked",
                     .columns = {"Setting", name_of_end(d, "controller"), name_of_end(d, "device"), "Same?",
                                 "If it differs, seen at controller", "Seen at I/O", "Mend at"},
                     .rows = {},
                     .look = "dense"};
    std::size_t differ = 0;
    for (const Value& s : look_up_list(d.plant, "settings")) {
        const bool same = look_up(s, "same").is_true();
        if (!same) ++differ;
        const SheetCell::Kind kind = same ? SheetCell::Kind::text : SheetCell::Kind::differs;
        table.rows.push_back({look_up_text(s, "setting"),
                              look_up_text(s, "controller"),
                              {look_up_text(s, "device"), kind},
                              {same ? "same" : "NO", SheetCell::Kind::text, same ? Mark::none : Mark::stopped},
                              or_dash(look_up_text(s, "seen_at_controller")),
                              or_dash(look_up_text(s, "seen_at_device")),
                              or_dash(look_up_text(s, "mend"))});
    }
    for (const Value& own : look_up_list(d.plant, "typed"))
        if (!look_up(own, "must_be_equal").is_true()) {
            const bool same = look_up_text(own, "controller") == look_up_text(own, "device");
            table.rows.push_back({look_up_text(own, "what"), look_up_text(own, "controller"),
                                  look_up_text(own, "device"), same ? "same" : "may differ", "-", "-", "-"});
        }
    const std::string signature = look_up_text(d.plant, "signature");
    sheet.blocks.emplace_back(SheetText{
        differ == 0 ? SheetText::Kind::plain : SheetText::Kind::strong,
        scalar_text(look_up(d.plant, "compared")) + " settings compared, " + std::to_string(differ) + " differ. " +
            (signature.empty() ? "There is no common parameter signature."
                               : "Parameter signature to be found at both ends: " + signature + ".") +
            (differ > 1 ? " Mend them from the first on: one difference hides the next." : "")});
    sheet.blocks.emplace_back(std::move(table));
}

void add_run(Sheet& sheet, const Dossier& dossier) {
    injections(sheet, dossier);
    time_line(sheet, dossier);
    reactions(sheet, dossier);
}

}  // namespace tools
