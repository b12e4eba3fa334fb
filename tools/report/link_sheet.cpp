#include "tools/report/papers.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Kind = SheetCell::Kind;

void settings(Sheet& sheet, const Dossier& d) {
    SheetTable table{.caption = "What to type",
                     .columns = {"What", "Type this at " + name_of_end(d, "controller"),
                                 "Type this at " + name_of_end(d, "device"), "Must be equal?", "Typed, seen by"},
                     .rows = {},
                     .look = "form"};
    // what no maker's tool knows cannot be typed: each has a name of its own for the layout
    const std::string layout = look_up_text(d.plant, "profile", "name");
    table.rows.push_back({"telegram layout, as the maker calls it (rehearsed as " + layout + ")", SheetCell::blank(),
                          SheetCell::blank(), "yes", SheetCell::blank()});
    for (const Value& line : look_up_list(d.plant, "typed"))
        table.rows.push_back({look_up_text(line, "what"), look_up_text(line, "controller"),
                              look_up_text(line, "device"),
                              look_up(line, "must_be_equal").is_true() ? "yes" : "no, its own", SheetCell::blank()});
    sheet.blocks.emplace_back(std::move(table));
}

SheetCell typed_or_blank(const Value& line, const char* end) {
    const std::string typed = look_up_text(line, end);
    return typed.empty() ? SheetCell::blank() : SheetCell{typed};
}

void network(Sheet& sheet, const Dossier& d) {
    const Value& n = look_up(d.plant, "network");
    const auto bytes = [&](const char* key) { return scalar_text(look_up(n, key)) + " bytes"; };
    SheetTable table{
        .caption = "Network settings",
        .columns = {"What", name_of_end(d, "controller"), name_of_end(d, "device"), "From the network plan"},
        .rows = {},
        .look = "form"};
    const Value::List& around = look_up_list(d.plant, "around");
    for (const Value& one : around)
        table.rows.push_back({look_up_text(one, "what"), typed_or_blank(one, "controller"),
                              typed_or_blank(one, "device"), SheetCell::blank()});
    if (around.empty())
        for (const char* what : {"network address, mask, gateway", "station name", "module, slot"})
            table.rows.push_back({what, SheetCell::blank(), SheetCell::blank(), SheetCell::blank()});
    table.rows.push_back({"telegram sent", bytes("telegram_to_device_bytes"), bytes("telegram_to_controller_bytes"),
                          figure(look_up_number(n, "telegrams_per_second_each_way")) + " a second each way"});
    table.rows.push_back(
        {"longest delay reckoned with, one way",
         tenths(look_up(n, "longest_delay_to_device_ms"), Rounding::up) + " ms to " + name_of_end(d, "device"),
         tenths(look_up(n, "longest_delay_to_controller_ms"), Rounding::up) + " ms to " + name_of_end(d, "controller"),
         look_up(n, "delay_measured").is_true() ? "measured" : "assumed: measure it"});
    if (const Value& trip = look_up(n, "longest_round_trip_ms"); !is_null(trip))
        table.rows.push_back(
            {"round trip up to which the link always runs", tenths(trip, Rounding::down) + " ms", "the same", "-"});
    sheet.blocks.emplace_back(std::move(table));
}

void bits(Sheet& sheet, const Dossier& d) {
    SheetTable table{
        .caption = "Bit map",
        .columns = {"Signal", "byte.bit at " + name_of_end(d, "controller"), "byte.bit at " + name_of_end(d, "device"),
                    "Meaning of 1", "When replaced", "Reaction at 0"},
        .rows = {},
        .look = "bits"};
    for (const Value& bit : look_up_list(d.plant, "bits")) {
        const std::string controller = look_up_text(bit, "at_controller"), device = look_up_text(bit, "at_device");
        const bool out = look_up_text(bit, "direction") == "to-device";
        table.rows.push_back({look_up_text(bit, "signal") + ", to " + name_of_end(d, out ? "device" : "controller"),
                              controller,
                              {device, controller == device ? Kind::text : Kind::differs},
                              look_up_text(bit, "meaning_of_1"),
                              scalar_text(look_up(bit, "substitute")),
                              look_up_text(bit, "reaction_at_0")});
    }
    sheet.blocks.emplace_back(std::move(table));
}

/// Where a plant has values besides bits.
void values(Sheet& sheet, const Dossier& d) {
    if (look_up_list(d.plant, "values").empty()) return;
    SheetTable table{.caption = "Values",
                     .columns = {"Value", "At " + name_of_end(d, "controller"), "At " + name_of_end(d, "device"),
                                 "Range", "When replaced", "Used for"},
                     .rows = {},
                     .look = "bits"};
    for (const Value& value : look_up_list(d.plant, "values")) {
        const std::string controller = look_up_text(value, "at_controller"), device = look_up_text(value, "at_device");
        const bool out = look_up_text(value, "direction") == "to-device";
        table.rows.push_back({look_up_text(value, "value") + ", to " + name_of_end(d, out ? "device" : "controller"),
                              controller,
                              {device, controller == device ? Kind::text : Kind::differs},
                              look_up_text(value, "range"),
                              look_up_text(value, "substitute"),
                              look_up_text(value, "use")});
    }
    sheet.blocks.emplace_back(std::move(table));
}

std::string window_of(const Dossier& d) {
    const std::string set_c = tenths(look_up(d.plant, "watchdog_ms", "controller"), Rounding::down),
                      set_d = tenths(look_up(d.plant, "watchdog_ms", "device"), Rounding::down);
    const std::string set = set_c == set_d ? set_c + " ms" : set_c + " and " + set_d + " ms";
    const Value& window = look_up(d.watchdog, "window");
    if (!is_null(window)) {
        const Value& to = look_up(window, "to_ms");
        const char* const usable = look_up(d.watchdog, "ideal_channel").is_true()
                                       ? "Reckoned on a channel without delays and losses, as no real one is: measure "
                                         "first. There usable from "
                                       : "Usable from ";
        return usable + tenths(look_up(window, "from_ms"), Rounding::up) + " ms" +
               (is_null(to) ? " on" : " to " + tenths(to, Rounding::down) + " ms") + ", set to " + set +
               "; a shorter one stops the plant for nothing, a longer one stops it too late.";
    }
    if (look_up(d.watchdog, "cannot_be_told").is_true())
        return "Whether a watchdog is usable cannot be told: " + look_up_text(d.watchdog, "why");
    if (!is_null(d.watchdog)) return "No usable watchdog: " + look_up_text(d.watchdog, "why");
    const Value& longest = look_up(d.plant, "longest_watchdog_ms");
    return "Set to " + set +
           (is_null(longest) ? ""
                             : "; longest that keeps what is required: " + tenths(longest, Rounding::down) + " ms") +
           ". The shortest usable one is not reckoned yet: linkdrill watchdog.";
}

/// Which part of the acceptance has to be done again; common practice, the standards ask for it in general.
void repeats(Sheet& sheet) {
    sheet.blocks.emplace_back(SheetTable{
        .caption = "What change calls for which repeat test (common practice)",
        .columns = {"Changed", "Do again"},
        .rows = {{"any value under \"must be equal\"", "signatures at both ends, all rows of the acceptance sheet"},
                 {"watchdog, cycle or scan", "watchdog and response, rows at full speed and with the link broken"},
                 {"a bit, a wire or a safeguard", "the rows that only look, the wires, each safeguard at full speed"},
                 {"network device, cable or path", "delays measured, watchdog, rows with the link broken"},
                 {"an end replaced, or its firmware", "everything, beginning with this sheet"},
                 {"drive, brake, load or speed", "stopping time, ten measurements, distance"}}});
}

/// What the makers' tools show is theirs alone: it is noted here, and found again by whoever comes back.
void signatures(Sheet& sheet, const Dossier& d) {
    const auto line = [](const char* what) {
        return std::vector<SheetCell>{what, SheetCell::blank(), SheetCell::blank(), SheetCell::blank(),
                                      SheetCell::blank()};
    };
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Signatures and checksums, as each maker's tool shows them",
                   .columns = {"What", "at " + name_of_end(d, "controller"), "at " + name_of_end(d, "device"),
                               "Equal, or fits?", "Name, date, signature"},
                   .rows = {line("signature of the safety settings"),
                            line("checksum of the safety program"),
                            {"call, when it stops", SheetCell::blank(), SheetCell::blank(), "-", "-"}},
                   .look = "form"});
}

}  // namespace

Sheet link_sheet_of(const Dossier& d) {
    Sheet sheet{.title = title_of(d) + ": link sheet", .blocks = {}};
    sheet.blocks.emplace_back(SheetHeading{.level = 1, .margin = {}, .text = "Link sheet: " + title_of(d), .id = {}});
    if (look_up_text(d.plant, "signature").empty())
        sheet.blocks.emplace_back(
            SheetText{SheetText::Kind::strong, "THE ENDS AS WRITTEN DIFFER: mend them before anything is typed."});
    if (const std::string apart = look_up_text(d.plant, "kept_apart", "words"); !apart.empty())
        sheet.blocks.emplace_back(
            SheetText{SheetText::Kind::strong, "AS WRITTEN THE LINK NEVER STARTS: " + apart + "."});
    settings(sheet, d);
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "Watchdog. " + window_of(d)});
    network(sheet, d);
    // one page while it holds them; more of them begin a second one, and then both have room to write
    constexpr std::size_t one_page_holds = 6;
    const bool two_pages = look_up_list(d.plant, "bits").size() > one_page_holds;
    if (two_pages)
        sheet.blocks.emplace_back(
            SheetHeading{.margin = {}, .text = "Bits", .id = "bits", .page = SheetHeading::Page::next});
    bits(sheet, d);
    values(sheet, d);
    sheet.blocks.emplace_back(SheetHeading{
        .margin = {}, .text = "Noted, and done again", .id = "noted", .page = SheetHeading::Page::together});
    signatures(sheet, d);
    repeats(sheet);
    const std::string signature = look_up_text(d.plant, "signature");
    sheet.foot = "Supplements the validation plan and never replaces it. Identity of the rehearsal: scenario " +
                 look_up_text(d.result, "scenario") + ", fingerprint " + look_up_text(d.result, "digest") +
                 (signature.empty() ? "" : ", parameters " + signature) + ", linkdrill " +
                 look_up_text(d.result, "version") + "; no maker's tool shows these numbers.";
    return sheet;
}

}  // namespace tools
