#include <algorithm>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

/// How many injections fired, were as expected, were dangerous.
std::string counts_of(const Value& result) {
    std::uint64_t fired = 0, expected = 0, dangerous = 0;
    for (const Value& injection : look_up_list(result, "injections")) {
        if (look_up_text(injection, "outcome") != "not-fired") ++fired;
        if (look_up(injection, "as_expected").is_true()) ++expected;
        if (look_up_text(injection, "outcome") == "dangerous") ++dangerous;
    }
    // what is due to no injection is dangerous all the same
    if (!look_up_list(result, "dangerous").empty()) dangerous = std::max<std::uint64_t>(dangerous, 1);
    return std::to_string(fired) + " injected, " + std::to_string(expected) + " as expected, " +
           std::to_string(dangerous) + " dangerous.";
}

/// The longest of one moment over all injections, and the least that is allowed for it.
struct Longest {
    std::optional<double> took, allowed;
    void add(std::optional<double> time, std::optional<double> most) {
        if (!time) return;
        if (!took || *time > *took) took = time;
        if (most && (!allowed || *most < *allowed)) allowed = most;
        if (!most) limited = false;
    }
    [[nodiscard]] std::string words() const {
        return tenths(took, Rounding::up) + " ms at most" +
               (limited ? "; " + tenths(allowed, Rounding::down) + " ms are allowed." : ".");
    }
    bool limited = true;
};

/// Two moments, each in its own words: stood, or only came down to reduced speed.
std::string longest_of(const Dossier& d) {
    const std::string reduced = reduced_speed_of(d);
    Longest stood, slowed;
    for (const Value& injection : look_up_list(d.result, "injections")) {
        const auto stands = look_up_number(injection, "standstill_ms"), most = look_up_number(injection, "allowed_ms");
        stood.add(stands, most);
        if (!stands && !reduced.empty()) slowed.add(look_up_number(injection, "reduced_ms"), most);
    }
    std::string text;
    if (slowed.took)
        text += " After a fault the machine was down to " + reduced + " and ran on, within " + slowed.words();
    if (stood.took) text += " After a fault the machine stood within " + stood.words();
    return text;
}

void verdict(Sheet& sheet, const Dossier& d) {
    const Value& r = d.result;
    const std::string word = look_up_text(r, "verdict");
    sheet.blocks.emplace_back(SheetHeading{.level = 1, .margin = {}, .text = title_of(d), .id = {}});
    std::string sentence;
    if (word == "not-judged")
        sentence = "This computer was too late to judge.";
    else if (!look_up(r, "link_started").is_true())
        sentence = "The link never ran: nothing about it was rehearsed.";
    else
        sentence = counts_of(r) + longest_of(d);
    if (!look_up(r, "as_expected").is_true())
        sentence += " This is not what the scenario expects.";
    else if (word != "pass")
        sentence += " The scenario expects this, to show what its link cannot do.";
    const bool limited = link_only(d) && word != "not-judged" && look_up(r, "link_started").is_true();
    if (limited) sentence = "Nothing states what the guards must do. " + sentence;
    sheet.blocks.emplace_back(
        SheetVerdict{word_of_verdict(word) + (limited ? ", link only" : ""), mark_of_verdict(word), sentence});
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::strong,
                                        "Rehearsed on a desk. It does not replace the measurements on the machine."});
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::soft, "Plant: " + as_sentence(or_dash(look_up_text(r, "plant"))) + " Scenario " +
                                             look_up_text(r, "scenario") + ", seed " + scalar_text(look_up(r, "seed")) +
                                             ", " + (look_up_text(r, "mode") == "live" ? "live" : "in virtual time") +
                                             ". linkdrill " + look_up_text(r, "version") + ", trace fingerprint " +
                                             look_up_text(r, "digest") + "."});
}

/// One row for each injection (or for none): the first event, and what became of it.
void dangers_of_run(const Dossier& d, std::vector<std::vector<SheetCell>>& rows) {
    const Value::List& events = look_up_list(d.result, "dangerous");
    std::vector<std::string> done;
    for (const Value& first : events) {
        const std::string injection = scalar_text(look_up(first, "injection"));
        if (std::find(done.begin(), done.end(), injection) != done.end()) continue;
        done.push_back(injection);
        std::size_t count = 0;
        const Value* last = &first;
        for (const Value& event : events)
            if (scalar_text(look_up(event, "injection")) == injection) {
                last = &event;
                ++count;
            }
        std::string why = look_up_text(first, "why");
        if (count > 1)
            why += "; " + std::to_string(count - 1) + " more up to " + seconds(look_up_number(*last, "at_ms")) +
                   " s: " + look_up_text(*last, "why");
        rows.push_back({SheetCell{injection.empty() ? "rehearsal" : "rehearsal, injection " + injection,
                                  SheetCell::Kind::text, Mark::dangerous},
                        SheetCell::number(seconds(look_up_number(first, "at_ms"))),
                        scalar_text(look_up(d.result, "seed")), why, repeat_of(d)});
    }
}

void dangers(Sheet& sheet, const Dossier& d) {
    std::vector<std::vector<SheetCell>> rows;
    dangers_of_run(d, rows);
    for (const Value& event : look_up_list(d.campaign, "dangerous"))
        rows.push_back({SheetCell{"campaign, trial " + scalar_text(look_up(event, "trial")), SheetCell::Kind::text,
                                  Mark::dangerous},
                        SheetCell::number("-"), scalar_text(look_up(event, "seed")),
                        look_up_text(event, "error") + ": " + look_up_text(event, "why"),
                        look_up_text(event, "repeat")});
    if (look_up_number(d.endurance, "dangerous").value_or(0) > 0)
        rows.push_back({SheetCell{"endurance", SheetCell::Kind::text, Mark::dangerous}, SheetCell::number("-"),
                        scalar_text(look_up(d.endurance, "seed")),
                        scalar_text(look_up(d.endurance, "dangerous")) + " in " +
                            scalar_text(look_up(d.endurance, "years")) + " years",
                        "-"});
    if (rows.empty()) return;
    sheet.blocks.emplace_back(SheetHeading{.margin = "1", .text = "Dangerous outcomes", .id = "dangers"});
    sheet.blocks.emplace_back(SheetTable{.caption = "Dangerous outcomes, each with what repeats it",
                                         .columns = {"Where", "At (s)", "Seed", "Why", "Repeat"},
                                         .rows = std::move(rows)});
    if (look_up_list(d.result, "dangerous").size() >= 100)
        sheet.blocks.emplace_back(
            SheetText{SheetText::Kind::soft, "Of a rehearsal the first 100 dangerous events are kept."});
}

void add_all(std::vector<std::string>& list, const Value::List& texts, const std::string& before = {}) {
    for (const Value& text : texts) list.push_back(before + std::string(text.text()));
}

}  // namespace

void add_cautions(Sheet& sheet, const Dossier& d) {
    const bool of_cell = !d.links.empty();
    sheet.blocks.emplace_back(SheetHeading{.margin = of_cell ? "5" : "2", .text = "Cautions", .id = "cautions"});
    std::vector<std::string> list{
        "This report supplements the validation plan and never replaces it. It rests on what the scenario says about "
        "delays, losses and the drive; where that is guessed, so is the result.",
        "Not compared, since only the machine knows: the wiring of the safeguards, the direction of motion, the "
        "meaning "
        "of each signal."};
    add_all(list, look_up_list(d.plant, "problems"), of_cell ? "Problem: " : "Problem of the link: ");
    add_all(list, look_up_list(d.plant, "cautions"));
    add_all(list, look_up_list(d.result, "remarks"));
    add_all(list, look_up_list(d.response, "cautions"));
    add_all(list, look_up_list(d.response, "distance", "cautions"));
    add_all(list, look_up_list(d.watchdog, "cautions"));
    for (const Dossier& link : d.links)
        add_all(list, look_up_list(link.watchdog, "cautions"), "Link " + look_up_text(link.result, "link") + ": ");
    add_all(list, look_up_list(d.residual, "notes"));
    for (const Value& method : look_up_list(d.residual, "methods"))
        if (const std::string confidence = look_up_text(method, "confidence");
            !confidence.empty() && confidence != "published")
            list.push_back("Residual error, method \"" + look_up_text(method, "name") + "\" (" +
                           look_up_text(method, "source") + "): " + confidence + ".");
    for (const std::string& caution : d.cautions) list.push_back(caution);
    if (const std::string thinned = look_up_text(d.time_line, "thinned"); !thinned.empty())
        list.push_back("Time line: " + thinned);
    for (std::string& text : list) text = as_sentence(text);
    sheet.blocks.emplace_back(SheetList{std::move(list)});
    const Value::List& unseen = look_up_list(d.plant, "undetectable");
    if (unseen.empty()) return;
    sheet.blocks.emplace_back(
        SheetHeading{.level = 3,
                     .margin = {},
                     .text = of_cell ? "What no measure of a link sees" : "What no measure of this link sees",
                     .id = {}});
    std::vector<std::string> texts;
    for (const Value& text : unseen) texts.push_back(as_sentence(std::string(text.text())));
    sheet.blocks.emplace_back(SheetList{std::move(texts)});
}

namespace {

void left_to_do(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "3", .text = "What must still be done on the machine", .id = "left-to-do"});
    const Value::List& rows = look_up_list(d.acceptance, "rows");
    std::size_t optional = 0;
    for (const Value& row : rows)
        if (look_up(row, "optional").is_true()) ++optional;
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::plain, std::to_string(rows.size() - optional) + " acts of the acceptance test and " +
                                              std::to_string(optional) +
                                              " optional ones, each with what must be seen and what is allowed."});
    sheet.blocks.emplace_back(SheetLink{"To fill in on the floor:", "acceptance sheet", "acceptance_sheet.html"});
    sheet.blocks.emplace_back(SheetLink{"What to type at both ends:", "link sheet", "link_sheet.html"});
}

void plant(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "4", .text = "Plant and link", .id = "plant"});
    SheetList list;
    add_all(list.items, look_up_list(d.plant, "lines"));
    sheet.blocks.emplace_back(std::move(list));
    if (const std::string shows = look_up_text(d.plant, "shows"); !shows.empty())
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft, "The scenario shows: " + shows});
}

}  // namespace

void add_head(Sheet& sheet, const Dossier& dossier) {
    verdict(sheet, dossier);
    add_functions(sheet, dossier);
    add_plant(sheet, dossier);
    dangers(sheet, dossier);
    add_cautions(sheet, dossier);
    left_to_do(sheet, dossier);
    plant(sheet, dossier);
}

}  // namespace tools
