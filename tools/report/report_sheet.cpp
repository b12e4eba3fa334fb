#include "tools/report/report_sheet.hpp"

#include <algorithm>
#include <string>

#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// What the network between the parts of a live run did, all legs together.
std::string network_of(const Value& legs) {
    std::string text;
    for (const char* const what : {"sent", "lost", "doubled", "out_of_order", "altered"}) {
        double sum = 0;
        if (legs.list() != nullptr)
            for (const Value& leg : *legs.list()) sum += number_of(look_up(leg, what)).value_or(0);
        std::string word = what;
        std::replace(word.begin(), word.end(), '_', ' ');
        text += (text.empty() ? "" : ", ") + word + " " + grouped(count_of(sum));
    }
    return text;
}

}  // namespace

void add_end(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = d.links.empty() ? "14" : "9", .text = "Repeat and provenance", .id = "repeat"});
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::command, repeat_of(d)});
    std::string files;
    for (const std::string& file : d.files) files += (files.empty() ? "" : ", ") + file;
    SheetTable table{.caption = "What this report was made of", .columns = {"What", "Value"}, .rows = {}};
    const auto add = [&](const char* what, const std::string& value) { table.rows.push_back({what, or_dash(value)}); };
    add("scenario", look_up_text(d.result, "scenario"));
    add("fingerprint of the scenario's file", look_up_text(d.result, "scenario_fingerprint"));
    add("seed", scalar_text(look_up(d.result, "seed")));
    add("trace fingerprint", look_up_text(d.result, "digest"));
    add("linkdrill", look_up_text(d.result, "version"));
    add("documents", files);
    if (const Value& late = look_up(d.result, "lateness_ms"); !is_null(late))
        add("lateness of this computer's timers (ms)",
            "half within " + tenths(look_up(late, "median"), Rounding::up) + ", 99 % within " +
                tenths(look_up(late, "p99"), Rounding::up) + ", the latest " +
                tenths(look_up(late, "max"), Rounding::up) + "; allowed " +
                tenths(look_up(late, "allowed"), Rounding::down));
    if (const Value& network = look_up(d.result, "network"); !is_null(network))
        add("datagrams between the parts", network_of(network));
    if (is_null(look_up(d.result, "lateness_ms")))
        add("computer", "any: in virtual time the same scenario and seed give the same bytes everywhere");
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft,
                                        "No date is written into this file, so that equal runs make equal files; its "
                                        "date is that of the file."});

    sheet.foot = "Supplements the validation plan and never replaces it. " + repeat_of(d) + "; linkdrill " +
                 look_up_text(d.result, "version") + ", trace fingerprint " + look_up_text(d.result, "digest") + ".";
    sheet.blocks.emplace_back(SheetHeading{
        .margin = d.links.empty() ? "15" : "10", .text = "Words", .id = "words", .page = SheetHeading::Page::together});
    sheet.blocks.emplace_back(SheetTable{
        .caption = "Words as they are used here",
        .columns = {"Word", "Meaning"},
        .rows = {{"stopped", "both ends went to their safe values (0)"},
                 {"tolerated", "something was rejected or missing, and the link ran on"},
                 {"no effect", "nothing arrived wrong"},
                 {"DANGEROUS", "a wrong or stale value was used, or a demand came too late"},
                 {"caught by", "the measure of the link that found the error first"},
                 {"demand", "a safeguard asks for the safety function; its contact opens when its sensor is done"},
                 {"reduced, stands",
                  "two moments: from when on the machine stays at or under its reduced speed; and speed 0 "
                  "with a stop in force"},
                 {"met, not shown",
                  "the demand caused what its function asks, in time; or the machine stood already, "
                  "or the signal was 0 for another reason, so that the demand shows nothing"},
                 {"way out, way back", "from " + name_of_end(d, "controller") + " to " + name_of_end(d, "device") +
                                           ", written C>D; and back, D>C"},
                 {"allowed", "the calculated worst case by the settings; never what was seen"},
                 {"stops for nothing",
                  "a stop without a demand and without an injected fault; losses of the channel "
                  "itself count as nothing"},
                 {"0, replaced",
                  "the safe value: what an end uses in place of a received value while it may trust no "
                  "telegram"},
                 {"asks to be acknowledged",
                  "the link is free of errors again, and stays stopped until somebody acknowledges"},
                 {"trace fingerprint", "a sum over everything that happened; equal for equal runs"}}});
}

Sheet report_of(const Dossier& dossier) {
    if (!dossier.links.empty()) return report_of_cell(dossier);
    Sheet sheet{.title = title_of(dossier) + ": rehearsal report", .blocks = {}};
    add_head(sheet, dossier);
    add_settings(sheet, dossier);
    add_run(sheet, dossier);
    add_reckoned(sheet, dossier);
    add_errors(sheet, dossier);
    add_end(sheet, dossier);
    return sheet;
}

}  // namespace tools
