// The data of the report's charts: plain numbers, so that the script only draws.
#include <initializer_list>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

/// [[a, b, ...], ...] out of objects, by their members in that order: a fifth of the size of the objects.
Value columns_of(const Value::List& objects, std::initializer_list<const char*> keys) {
    Value::List rows;
    for (const Value& object : objects) {
        Value::List row;
        for (const char* key : keys) row.push_back(look_up(object, key));
        rows.emplace_back(std::move(row));
    }
    return rows;
}

/// Each demand once, with what it came to in words.
Value::List demands_of(const Dossier& d) {
    Value::List demands;
    for (const Value& row : look_up_list(d.result, "demands")) {
        const std::string met = word_for_met(look_up(row, "met")),
                          stands = tenths(look_up(row, "standstill_ms"), Rounding::up),
                          reduced = tenths(look_up(row, "reduced_ms"), Rounding::up);
        std::string words = look_up_text(row, "safeguard") + " opens";
        if (look_up_text(row, "machine_did") == "stopped") words += ", stands after " + stands + " ms";
        if (look_up_text(row, "machine_did") == "slowed") words += ", reduced after " + reduced + " ms";
        if (look_up_text(row, "machine_did") == "ran-on") words += ", ran on";
        if (met != "-") words += ", " + met;
        const Value& id = look_up(row, "id");
        if (!demands.empty() && scalar_text(look_up(demands.back(), "id")) == scalar_text(id)) continue;
        demands.push_back(Value::Object{
            {"id", id}, {"guard", look_up(row, "safeguard")}, {"at", look_up(row, "contact_ms")}, {"words", words}});
    }
    return demands;
}

Value time_line_of(const Dossier& d) {
    Value::List signals, contacts, injections;
    for (const Value& signal : look_up_list(d.time_line, "signals"))
        signals.push_back(Value::Object{{"name", look_up(signal, "name")},
                                        {"used_at", name_of_end(d, look_up_text(signal, "used_at"))},
                                        {"computed_at", name_of_end(d, look_up_text(signal, "computed_at"))},
                                        {"computed", columns_of(look_up_list(signal, "computed"), {"at_ms", "value"})},
                                        {"changes", columns_of(look_up_list(signal, "changes"), {"at_ms", "value"})}});
    for (const Value& contact : look_up_list(d.time_line, "contacts"))
        contacts.push_back(
            Value::Object{{"name", look_up(contact, "name")},
                          {"changes", columns_of(look_up_list(contact, "changes"), {"at_ms", "value"})}});
    for (const Value& i : look_up_list(d.result, "injections"))
        injections.push_back(Value::Object{{"id", look_up(i, "id")},
                                           {"at", look_up(i, "at_ms")},
                                           {"words", look_up(i, "words")},
                                           {"outcome", word_for_outcome(look_up_text(i, "outcome"))},
                                           {"detect", look_up(i, "detect_ms")},
                                           {"end", look_up(i, "detected_end")},
                                           {"by", word_for_measure(look_up_text(i, "detected_by"))}});
    const auto states = [&](const char* end) {
        return columns_of(look_up_list(d.time_line, "states", std::string_view(end)), {"at_ms", "state"});
    };
    return Value::Object{{"duration", look_up(d.time_line, "duration_ms")},
                         {"controller", Value::Object{{"name", name_of_end(d, "controller")},
                                                      {"short", look_up(d.plant, "short_names", "controller")},
                                                      {"states", states("controller")}}},
                         {"device", Value::Object{{"name", name_of_end(d, "device")},
                                                  {"short", look_up(d.plant, "short_names", "device")},
                                                  {"states", states("device")}}},
                         {"signals", std::move(signals)},
                         {"contacts", std::move(contacts)},
                         {"demands", demands_of(d)},
                         {"machine", look_up(d.time_line, "machine")},
                         {"speed", columns_of(look_up_list(d.time_line, "speed"), {"at_ms", "mm_per_s"})},
                         {"injections", std::move(injections)}};
}

/// Null where one of them is no number.
Value later_of(const Value& a, const Value& b) {
    const auto first = number_of(a), second = number_of(b);
    if (!first || !second) return {};
    return *first > *second ? a : b;
}

Value reaction_of(const Dossier& d) {
    Value::List rows;
    for (const Value& i : look_up_list(d.result, "injections")) {
        std::string error = look_up_text(i, "error");
        if (error.empty()) error = look_up_text(i, "fault");
        rows.push_back(Value::Object{
            {"id", look_up(i, "id")},
            {"error", error},
            {"caught", look_up(i, "detect_ms")},
            {"safe", later_of(look_up(i, "safe_state_ms", "controller"), look_up(i, "safe_state_ms", "device"))},
            {"stands", look_up(i, "standstill_ms")},
            {"slowed",
             is_null(look_up(i, "standstill_ms")) && !reduced_speed_of(d).empty() ? look_up(i, "reduced_ms") : Value()},
            {"allowed", look_up(i, "allowed_ms")}});
    }
    return rows;
}

Value::Object data_of_link(const Dossier& d) {
    Value::Object data{{"timeline", is_null(d.time_line) ? Value() : time_line_of(d)}, {"reaction", reaction_of(d)}};
    if (!is_null(d.watchdog))
        data.push_back({"watchdog", Value::Object{{"points", columns_of(look_up_list(d.watchdog, "points"),
                                                                        {"watchdog_ms", "trips_per_year", "low", "high",
                                                                         "needed_mm", "usable"})},
                                                  {"window", look_up(d.watchdog, "window")},
                                                  {"limit", look_up(d.watchdog, "limit_per_year")},
                                                  {"there", look_up(d.response, "there_mm")},
                                                  {"now", look_up(d.plant, "watchdog_ms", "controller")}}});
    if (!is_null(d.residual)) {
        data.push_back({"residual", columns_of(look_up_list(d.residual, "residual"),
                                               {"p", "value", "customary", "at_least", "at_most"})});
        data.push_back({"methods", columns_of(look_up_list(d.residual, "methods"),
                                              {"name", "rate_per_hour", "share_per_hour", "met"})});
    }
    return data;
}

/// The first link's as those of one link; the others' under names of their own, as their entries name their charts.
Value::Object data_of_cell(const Dossier& d) {
    Value::Object data{{"timeline", Value()}, {"reaction", Value()}}, also;
    for (std::size_t i = 0; i < d.links.size(); ++i)
        for (Value::Member& member : data_of_link(d.links[i])) {
            if (member.key != "timeline" && member.key != "watchdog") continue;
            if (i != 0)
                also.push_back({member.key + "-" + std::to_string(i + 1), std::move(member.value)});
            else if (member.key == "timeline")
                data.front().value = std::move(member.value);
            else
                data.push_back(std::move(member));
        }
    Dossier telegrams;
    telegrams.residual = d.residual;
    for (Value::Member& member : data_of_link(telegrams))
        if (member.key == "residual" || member.key == "methods") data.push_back(std::move(member));
    data.push_back({"also", std::move(also)});
    return data;
}

}  // namespace

Value chart_data_of(const Dossier& d) {
    Value::Object data = d.links.empty() ? data_of_link(d) : data_of_cell(d);
    data.push_back({"plant", plant_data_of(d)});
    return data;
}

}  // namespace tools
