// Sections 5, 6 and 9 of the report: settings, injections, reaction times.
#include <algorithm>
#include <cmath>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/addresses.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Row = std::vector<SheetCell>;

/// It came down to the machine's reduced speed and went on there.
bool only_slowed(const Dossier& d, const Value& i) {
    return !is_null(look_up(d.result, "machine", "reduced_mm_per_s")) && !is_null(look_up(i, "reduced_ms")) &&
           is_null(look_up(i, "standstill_ms"));
}

bool any_only_slowed(const Dossier& d) {
    const Value::List& all = look_up_list(d.result, "injections");
    return std::any_of(all.begin(), all.end(), [&](const Value& i) { return only_slowed(d, i); });
}

Row injection_row(const Dossier& d, const Value& i, bool slowed) {
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
    Row row{SheetCell::number(scalar_text(look_up(i, "id"))),
            SheetCell::number(seconds(look_up_number(i, "at_ms"))),
            error.empty() ? look_up_text(i, "fault") : error,
            look_up_text(i, "words"),
            way,
            {word_for_outcome(outcome), SheetCell::Kind::text, mark_of_outcome(outcome)},
            or_dash(caught),
            or_dash(end),
            ms(look_up(i, "detect_ms"), Rounding::up),
            ms(look_up(i, "safe_state_ms", "controller"), Rounding::up),
            ms(look_up(i, "safe_state_ms", "device"), Rounding::up)};
    if (slowed) row.push_back(ms(look_up(i, "reduced_ms"), Rounding::up));
    row.push_back(only_slowed(d, i) ? SheetCell{"ran on"} : ms(look_up(i, "standstill_ms"), Rounding::up));
    row.push_back(ms(look_up(i, "allowed_ms"), Rounding::down));
    row.insert(row.end(), {or_dash(look_up_text(i, "expected")), as_expected});
    return row;
}

void injections(Sheet& sheet, const Dossier& d) {
    // on paper so many rows fill half a page across; fewer are blocks of two lines instead
    constexpr std::size_t fill_a_page = 10;
    const bool many = look_up_list(d.result, "injections").size() >= fill_a_page;
    sheet.blocks.emplace_back(SheetHeading{.margin = "6",
                                           .text = "Injections",
                                           .id = "injections",
                                           .page = many ? SheetHeading::Page::next_wide : SheetHeading::Page::same});
    if (look_up_list(d.result, "injections").empty()) {
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "Nothing was injected."});
        return;
    }
    const bool slowed = any_only_slowed(d);
    SheetTable table{
        .caption = "What was injected, what caught it, and how long the machine ran on",
        .columns = {"No", "At (s)", "Error", "How and where", "Way", "Outcome", "Caught by (measure)", "At end",
                    "Caught after (ms)", "Safe at " + short_name_of_end(d, "controller") + " after (ms)",
                    "Safe at " + short_name_of_end(d, "device") + " after (ms)"},
        .rows = {},
        .look = many ? "dense" : "dense few",
        .narrow = many ? SheetTable::Narrow::scroll : SheetTable::Narrow::cards};
    if (slowed) table.columns.push_back("Down to " + reduced_speed_of(d) + " after (ms)");
    table.columns.insert(table.columns.end(),
                         {"Machine stands after (ms)", "Allowed (ms)", "Expected", "As expected?"});
    for (const Value& injection : look_up_list(d.result, "injections"))
        table.rows.push_back(injection_row(d, injection, slowed));
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
        found.push_back({error.key, count_of(look_up_number(error.value, "trials")), of("median"), of("p99"), of("max"),
                         look_up_number(error.value, "allowed_ms")});
    }
    return found;
}

std::vector<Reaction> reactions_of_run(const Value& result) {
    std::vector<Reaction> found;
    std::vector<std::vector<double>> stood;
    for (const Value& i : look_up_list(result, "injections")) {
        std::string name = look_up_text(i, "error");
        if (name.empty()) name = look_up_text(i, "fault");
        std::size_t at = 0;
        while (at < found.size() && found[at].error != name) ++at;
        if (at == found.size()) {
            found.push_back({.error = name});
            stood.emplace_back();
        }
        if (const auto took = look_up_number(i, "standstill_ms")) stood[at].push_back(*took);
        if (const auto most = look_up_number(i, "allowed_ms"))
            found[at].allowed = std::min(found[at].allowed.value_or(*most), *most);
    }
    for (std::size_t at = 0; at < found.size(); ++at) {
        std::vector<double>& times = stood[at];
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
        .caption = by_error ? "Machine stands after (without one: both ends safe), by error, in the campaign"
                            : "Machine stands after, by error",
        .columns = {"Error", "Trials", "Median (ms)", "99 % (ms)", "Longest (ms)", "Allowed (ms)", "Spare (ms)"},
        .rows = {}};
    for (const Reaction& r : by_error ? reactions_of_campaign(*by_error) : reactions_of_run(d.result))
        table.rows.push_back(row_of(r));
    if (!table.rows.empty()) sheet.blocks.emplace_back(std::move(table));
}

void reactions(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "9", .text = "Reaction times against the allowed", .id = "reactions"});
    const Value::List& injections = look_up_list(d.result, "injections");
    const bool any = std::any_of(injections.begin(), injections.end(), [](const Value& i) {
        return !is_null(look_up(i, "standstill_ms")) || !is_null(look_up(i, "detect_ms"));
    });
    if (!any)
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "No injection was caught or led to a stop."});
    else
        sheet.blocks.emplace_back(
            SheetChart{"reaction", "From each injection until caught, both ends safe, machine stands",
                       "One column for each injection; the ink line is what is allowed until the machine stands. Below "
                       "the line is good; a column without a mark was not acted on."});
    reaction_table(sheet, d);
    add_values(sheet, d);
    const Value& response = look_up(d.result, "response");
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain,
        "Response from sampling to output command: calculated worst " +
            tenths(look_up(response, "bound_ms"), Rounding::up) + " ms, worst seen " +
            tenths(look_up(response, "worst_seen_ms"), Rounding::up) + " ms, required " +
            tenths(look_up(response, "required_ms"), Rounding::down) +
            " ms. Without faults: " + grouped(count_of(look_up_number(d.result, "twin", "cycles"))) + " cycles, " +
            scalar_text(look_up(d.result, "twin", "spurious_trips")) + " stops for nothing. " +
            (!look_up(d.result, "link_started").is_true() ? "The link never ran: nothing about it was rehearsed."
             : look_up(d.result, "twin", "recovered").is_true()
                 ? "After every stop the link came back only when acknowledged, the machine only when started."
                 : as_sentence("RECOVERY FAILED: " + look_up_text(d.result, "twin", "why_not_recovered")))});
}

}  // namespace

std::string campaign_in_words(const Value& campaign) {
    if (is_null(campaign)) return {};
    const auto told = [&](const char* key) { return grouped(count_of(look_up_number(campaign, key))); };
    // a campaign by this build has a verdict; whatever one says, its dangers are counted
    const double dangerous = look_up_number(campaign, "outcomes", "dangerous").value_or(0);
    const std::string word = dangerous > 0 ? "dangerous" : look_up_text(campaign, "verdict");
    std::string words = word.empty() ? std::string() : word_of_verdict(word) + ", ";
    words += told("trials") + " trials, " + grouped(count_of(dangerous)) + " dangerous, " + told("late") + " late.";
    return words;
}

void add_campaign(Sheet& sheet, const Dossier& d) {
    const std::string words = campaign_in_words(d.campaign);
    if (words.empty()) return;
    sheet.blocks.emplace_back(SheetHeading{.margin = {}, .text = "Campaign of random trials", .id = "campaign"});
    const bool passed = look_up_text(d.campaign, "verdict") == "pass";
    sheet.blocks.emplace_back(SheetText{passed ? SheetText::Kind::plain : SheetText::Kind::strong, words});
    reaction_table(sheet, d);
}

void add_settings(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "5", .text = "Settings of both ends", .id = "settings"});
    SheetTable table{.caption = "Settings side by side; differences are marked",
                     .columns = {"Setting", name_of_end(d, "controller"), name_of_end(d, "device"), "Same?",
                                 "If it differs, seen at " + name_of_end(d, "controller"),
                                 "Seen at " + name_of_end(d, "device"), "Mend at"},
                     .rows = {},
                     .look = "dense",
                     .narrow = SheetTable::Narrow::scroll};
    std::size_t differ = 0;
    for (const Value& s : look_up_list(d.plant, "settings")) {
        const bool same = look_up(s, "same").is_true();
        if (!same) ++differ;
        const SheetCell::Kind kind = same ? SheetCell::Kind::text : SheetCell::Kind::differs;
        const auto typed = [&](std::string_view end) {
            return addresses_in_words(look_up(look_up(s, "addresses"), end), look_up_text(s, end));
        };
        table.rows.push_back({look_up_text(s, "setting"),
                              typed("controller"),
                              {typed("device"), kind},
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
            (signature.empty()
                 ? "There is no common parameter signature."
                 : "Identity of the parameters in this rehearsal: " + signature + "; no maker's tool shows it.") +
            (differ > 1 ? " Mend them from the first on: one difference hides the next." : "")});
    sheet.blocks.emplace_back(std::move(table));
}

void add_run(Sheet& sheet, const Dossier& dossier) {
    injections(sheet, dossier);
    add_guards(sheet, dossier);
    add_time_line(sheet, dossier);
    reactions(sheet, dossier);
}

}  // namespace tools
