#include "tools/check/check_page.hpp"

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/measures/by_design.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/check/check_lists.hpp"
#include "tools/check/check_tables.hpp"
#include "tools/text/addresses.hpp"
#include "tools/text/apart.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

/// Column at which the text after a label begins: " 1  " and 23 characters of label.
constexpr std::size_t text_column = 27;

/// `label` from column 4, `text` from text_column; a label too long for its place stands on lines of its own.
void labelled(Page& page, const std::string& lead, const std::string& label, const std::string& text) {
    const std::string safe = plain(label);
    if (lead.size() + safe.size() + 2 <= text_column) {
        page.paragraph(left_aligned(lead + safe, text_column), text);
    } else {
        page.paragraph(lead, safe);
        page.paragraph(std::string(text_column, ' '), text);
    }
}

void difference(Page& page, std::size_t number, const sim::Difference& d, const EndNames& names) {
    const std::string lead = right_aligned(std::to_string(number), 2) + "  ";
    const std::string indent(lead.size(), ' ');
    const std::string at_controller = plain(names.controller + "  " + d.controller);
    const std::string at_device = plain(names.device + "  " + d.device);
    constexpr std::size_t second_column = 60;
    const bool fits = page.columns().wide() && text_column + at_controller.size() + 2 <= second_column &&
                      second_column + at_device.size() <= page.columns().count;
    if (fits) {
        labelled(page, lead, d.setting, left_aligned(at_controller, second_column - text_column) + at_device);
    } else {
        labelled(page, lead, d.setting, at_controller);
        page.paragraph(std::string(text_column, ' '), at_device);
    }
    const auto in_marks = [](const std::string& shown) { return "\"" + shown + "\""; };
    if (d.seen_at_controller == d.seen_at_device && !d.seen_at_controller.empty()) {
        const bool unseen = d.seen_at_controller.starts_with("Running");
        labelled(page, indent, "shown at both ends",
                 in_marks(d.seen_at_controller) + (unseen ? ": NO MEASURE OF THE LINK SEES THIS" : ""));
    } else {
        if (!d.seen_at_controller.empty())
            labelled(page, indent, "shown at " + names.controller, in_marks(d.seen_at_controller));
        if (!d.seen_at_device.empty()) labelled(page, indent, "shown at " + names.device, in_marks(d.seen_at_device));
    }
    if (!d.note.empty()) labelled(page, indent, "note", d.note);
    if (!d.mend.empty()) labelled(page, indent, d.mend_at == sim::MendAt::design ? "mend" : "mend at", d.mend);
}

}  // namespace

void sentences_on(Page& page, std::string_view title, const std::vector<std::string>& texts) {
    if (texts.empty()) return;
    page.blank();
    page.line(title);
    for (const std::string& text : texts) page.paragraph("    ", text);
}

void differences_on(Page& page, const sim::CrossCheck& check, const EndNames& names) {
    const std::size_t count = check.differences.size();
    for (std::size_t i = 0; i < count; ++i) difference(page, i + 1, check.differences[i], names);
    if (count <= 1) return;
    page.blank();
    page.paragraph("Order      ", "mend them from 1 on: one difference hides the next. Then check again.");
}

void add_network(Value::Object& document, const sim::CrossCheck& check) {
    if (check.apart) document.push_back({"kept_apart", describe(*check.apart)});
    if (!check.not_compared.empty()) document.push_back({"not_compared", Value::list_of(check.not_compared)});
}

std::string not_all(const sim::CrossCheck& check) {
    return check.not_compared.empty() ? "" : " Of network and module NOT ALL is compared, see the cautions.";
}

Value::List describe_differences(const sim::CrossCheck& check, const std::string& link) {
    Value::List differences;
    for (const sim::Difference& d : check.differences) {
        Value::Object one{{"setting", d.setting},
                          {"controller", in_hex_alone(d.controller_addresses, d.controller)},
                          {"device", in_hex_alone(d.device_addresses, d.device)},
                          {"seen_at_controller", Value::text_or_null(d.seen_at_controller)},
                          {"seen_at_device", Value::text_or_null(d.seen_at_device)},
                          {"mend", d.mend},
                          {"mend_at", Value::text_or_null(name_of(d.mend_at))}};
        one.push_back({"link", Value::text_or_null(link)});
        if (!d.controller_addresses.empty())
            one.push_back({"addresses", Value::Object{{"controller", describe(d.controller_addresses)},
                                                      {"device", describe(d.device_addresses)}}});
        if (!d.note.empty()) one.push_back({"note", d.note});
        differences.push_back(std::move(one));
    }
    return differences;
}

namespace {

std::vector<std::string> both(std::vector<std::string> first, const std::vector<std::string>& then) {
    first.insert(first.end(), then.begin(), then.end());
    return first;
}

std::string title_of(const sim::Scenario& scenario) {
    const std::string& title = !scenario.title.empty() ? scenario.title : scenario.file;
    return title.empty() ? "the link" : title;
}

const char* word_for(proto::Presence presence) {
    switch (presence) {
        case proto::Presence::absent: return "absent";
        case proto::Presence::carried: return "carried";
        case proto::Presence::implied: return "implied";
    }
    return "?";
}

std::string described(const proto::Field& field) {
    if (field.presence == proto::Presence::absent) return "absent";
    return counted(field.bits, "bit", "bits") + " " + word_for(field.presence);
}

/// Whatever the settings, and what a stream adds.
std::vector<sim::Undetectable> undetectable_of(const proto::Profile& profile) {
    std::vector<sim::Undetectable> all = sim::undetectable_by(profile);
    for (sim::Undetectable& each : sim::undetectable_in_a_stream(profile)) all.push_back(std::move(each));
    std::stable_sort(all.begin(), all.end(),
                     [](const sim::Undetectable& a, const sim::Undetectable& b) { return a.error < b.error; });
    return all;
}

std::vector<std::string> words_of(const std::vector<sim::Undetectable>& all) {
    std::vector<std::string> words;
    words.reserve(all.size());
    for (const sim::Undetectable& each : all) words.push_back(each.words);
    return words;
}

std::vector<std::string> cautions_of(const proto::Profile& profile) {
    if (!sim::may_be_all_zero(profile)) return {};
    return {all_zero_caution()};
}

void by_design(Page& page, const proto::Profile& profile) {
    page.blank();
    page.line("No measure of this telegram sees, by design");
    for (const sim::Undetectable& each : undetectable_of(profile)) {
        constexpr std::size_t error_width = 18;
        page.paragraph(left_aligned("    " + std::string(name_of(each.error)), error_width), each.words);
    }
}

}  // namespace

Value describe(const CheckFound& found) {
    const sim::CrossCheck& check = found.ends;
    Value::Object document{
        {"ok", found.ok()},
        {"kind", "scenario"},
        {"compared", check.compared},
        {"signature", check.signature ? Value(sim::written_hex(*check.signature, 8)) : Value()},
        {"differences", describe_differences(check, {})},
        {"functions", describe_guards(found.functions)},
        {"problems", Value::list_of(both(check.problems, found.functions.problems))},
        {"undetectable", Value::list_of(check.undetectable)},
        {"cautions", Value::list_of(both(check.cautions, found.functions.cautions))},
    };
    if (found.lists) document.push_back({"lists", describe_list_findings(*found.lists)});
    if (found.residual) document.push_back({"residual", describe(*found.residual)});
    if (!found.functions.reckoned.empty()) document.push_back({"reckoned", Value::list_of(found.functions.reckoned)});
    if (found.all_settings) document.push_back({"settings", describe_settings(check, {})});
    add_network(document, check);
    return document;
}

Page page_of(const sim::Scenario& scenario, const CheckFound& found, Columns columns) {
    Page page(columns);
    const sim::CrossCheck& check = found.ends;
    const std::vector<std::string> problems = both(check.problems, found.functions.problems);
    const EndNames names = full_names(scenario);
    const std::size_t count = check.differences.size();
    if (check.apart && !check.apart->arrives) {
        page.headline("ENDS APART", Hue::danger,
                      title_of(scenario) + ": the ends cannot reach each other; " +
                          counted(check.compared, "setting", "settings") + " compared.");
        if (count != 0) page.blank();
        differences_on(page, check, names);
    } else if (count == 0) {
        std::string signature;
        if (check.signature) {
            signature = " Parameter signature " + sim::written_hex(*check.signature, 8) + ".";
        }
        // "ENDS AGREE" though something else is wrong would be read as "all is well".
        const bool ok = problems.empty();
        const char* const verdict = !found.all_compared() ? "NOT ALL COMPARED" : ok ? "ENDS AGREE" : "ENDS AGREE, BUT";
        page.headline(verdict, ok && found.all_compared() ? Hue::good : Hue::danger,
                      title_of(scenario) + ": " + counted(check.compared, "setting", "settings") +
                          " compared, 0 differ." + signature + not_all(check));
    } else {
        page.headline("ENDS DISAGREE", Hue::danger,
                      title_of(scenario) + ": " + counted(count, "setting differs", "settings differ") + " of " +
                          grouped(check.compared) + " compared.");
        page.blank();
        differences_on(page, check, names);
    }
    if (found.lists) list_findings_on(page, *found.lists);
    if (found.all_settings) settings_table(page, check, names, {});
    guards_table(page, found.functions);
    sentences_on(page, "Problems", problems);
    if (found.residual) {
        page.blank();
        page.line("Residual error of the link");
        residual_lines(page, *found.residual);
    }
    sentences_on(page, "Reckoned with", found.functions.reckoned);
    sentences_on(page, "No measure of this link sees", check.undetectable);
    sentences_on(page, "Cautions", both(check.cautions, found.functions.cautions));
    return page;
}

Value describe(const proto::Profile& profile, const proto::Layout& layout) {
    return Value::Object{
        {"ok", true},
        {"kind", "profile"},
        {"compared", 0},
        {"signature", Value()},
        {"differences", Value::List{}},
        {"problems", Value::List{}},
        {"undetectable", Value::list_of(words_of(undetectable_of(profile)))},
        {"cautions", Value::list_of(cautions_of(profile))},
        {"profile", Value::Object{{"name", profile.name},
                                  {"identity", sim::written_hex(proto::identity_of(profile), 8)},
                                  {"crc", Value::text_or_null(profile.crc_name)},
                                  {"crc_bits", profile.crc ? Value(profile.crc->width) : Value()},
                                  {"header_bytes", layout.header_bytes},
                                  {"payload_bytes", layout.payload_bytes},
                                  {"crc_bytes", layout.crc_bytes},
                                  {"copies", profile.copies},
                                  {"total_bytes", layout.total_bytes}}},
    };
}

Page page_of(const proto::Profile& profile, const proto::Layout& layout, Columns columns) {
    Page page(columns);
    page.headline("PROFILE FITS", Hue::good,
                  (profile.name.empty() ? std::string("the profile") : profile.name) + ": a payload of " +
                      counted(layout.payload_bytes, "byte", "bytes") + " makes a telegram of " +
                      counted(layout.total_bytes, "byte", "bytes") + ". Identity " +
                      sim::written_hex(proto::identity_of(profile), 8) + ".");
    page.blank();
    page.paragraph("Address    ", described(profile.address));
    page.paragraph("Number     ", described(profile.sequence) + (profile.feedback ? ", and the peer's fed back" : ""));
    page.paragraph("Direction  ", word_for(profile.direction));
    page.paragraph("Stamp      ", profile.time_stamp_bits == 0
                                      ? std::string("none")
                                      : counted(profile.time_stamp_bits, "bit", "bits") + " in units of " +
                                            sim::written(profile.time_stamp_unit));
    std::string crc = "none";
    if (profile.crc) {
        crc = counted(profile.crc->width, "bit", "bits") + ", polynomial " +
              sim::written_hex(profile.crc->polynomial, (profile.crc->width + 3) / 4);
        if (!profile.crc_name.empty()) crc += ", " + profile.crc_name;
    }
    page.paragraph("CRC        ", crc);
    page.paragraph("Bytes      ", std::to_string(layout.header_bytes) + " header, " +
                                      std::to_string(layout.payload_bytes) + " payload, " +
                                      std::to_string(layout.crc_bytes) + " CRC" +
                                      (profile.copies == 2 ? "; all of it twice, the second time inverted" : ""));
    by_design(page, profile);
    sentences_on(page, "Cautions", cautions_of(profile));
    return page;
}

}  // namespace tools
