// Section 8 of the report: the time line as a chart, and the same as a table.
#include <algorithm>
#include <iterator>
#include <utility>
#include <vector>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

constexpr std::size_t events_in_table = 250;

struct Event {
    double at = 0;
    std::string where, what;
    Mark mark = Mark::none;
};
using Events = std::vector<Event>;

Mark mark_of_state(const std::string& state) {
    if (state == "running") return Mark::running;
    if (state == "start-up") return Mark::starting;
    if (state == "awaiting acknowledgement") return Mark::waits;
    return Mark::stopped;
}

double at_of(const Value& value) { return look_up_number(value, "at_ms").value_or(0); }

void add_states(Events& events, const Dossier& d) {
    for (const char* end : {"controller", "device"})
        for (const Value& change : look_up_list(d.time_line, "states", std::string_view(end))) {
            const std::string state = look_up_text(change, "state"), measure = look_up_text(change, "measure");
            std::string cause = look_up_text(change, "cause");
            if (!measure.empty()) cause += ": " + word_for_measure(measure);
            events.push_back(
                {at_of(change), name_of_end(d, end), word_for_state(state) + " (" + cause + ")", mark_of_state(state)});
        }
}

void add_injections(Events& events, const Dossier& d) {
    for (const Value& i : look_up_list(d.result, "injections")) {
        const auto at = look_up_number(i, "at_ms"), detect = look_up_number(i, "detect_ms");
        const std::string number = "injection " + scalar_text(look_up(i, "id"));
        if (at) events.push_back({*at, "channel", number + ": " + look_up_text(i, "words")});
        if (at && detect)
            events.push_back({*at + *detect, name_of_end(d, look_up_text(i, "detected_end")),
                              number + " caught by: " + word_for_measure(look_up_text(i, "detected_by"))});
    }
}

void add_guards_of(Events& events, const Dossier& d) {
    std::string last;
    for (const Value& demand : look_up_list(d.result, "demands")) {
        // one demand may have to keep more than one function
        if (const std::string id = scalar_text(look_up(demand, "id")); std::exchange(last, id) == id) continue;
        events.push_back({at_of(demand), look_up_text(demand, "safeguard"), "demand"});
    }
    for (const Value& contact : look_up_list(d.time_line, "contacts"))
        for (const Value& change : look_up_list(contact, "changes"))
            events.push_back({at_of(change), look_up_text(contact, "name"),
                              scalar_text(look_up(change, "value")) == "0" ? "contact opens" : "contact closes"});
}

/// When an end uses what it receives; at all other times every value is replaced.
class Runs {
  public:
    Runs(const Dossier& d, const std::string& end) {
        for (const Value& change : look_up_list(d.time_line, "states", std::string_view(end)))
            changes_.emplace_back(at_of(change), look_up_text(change, "state") == "running");
    }
    [[nodiscard]] bool at(double time) const {
        const auto after = std::upper_bound(changes_.begin(), changes_.end(), time,
                                            [](double t, const std::pair<double, bool>& c) { return t < c.first; });
        return after != changes_.begin() && std::prev(after)->second;
    }

  private:
    std::vector<std::pair<double, bool>> changes_;
};

void add_signals(Events& events, const Dossier& d) {
    const Runs controller(d, "controller"), device(d, "device");
    for (const Value& signal : look_up_list(d.time_line, "signals")) {
        const std::string name = look_up_text(signal, "name"), from = look_up_text(signal, "computed_at"),
                          user = look_up_text(signal, "used_at");
        for (const Value& change : look_up_list(signal, "computed"))
            events.push_back({at_of(change), name_of_end(d, from),
                              "computes " + name + " " + scalar_text(look_up(change, "value"))});
        for (const Value& change : look_up_list(signal, "changes")) {
            const std::string value = scalar_text(look_up(change, "value"));
            const bool replaced = value == "0" && !(user == "controller" ? controller : device).at(at_of(change));
            std::string what = "uses ";
            what.append(name).append(" ").append(value).append(replaced ? ", replaced" : "");
            events.push_back({at_of(change), name_of_end(d, user), std::move(what)});
        }
    }
}

void add_values(Events& events, const Dossier& d) {
    for (const Value& value : look_up_list(d.time_line, "values")) {
        const std::string name = look_up_text(value, "name"), unit = look_up_text(value, "unit");
        for (const Value& change : look_up_list(value, "changes")) {
            std::string what = "uses " + name + " " + scalar_text(look_up(change, "value"));
            what += (unit.empty() ? "" : " " + unit) + (look_up(change, "substitute").is_true() ? ", replaced" : "");
            events.push_back({at_of(change), name_of_end(d, look_up_text(value, "used_at")), std::move(what)});
        }
    }
}

void add_speed(Events& events, const Dossier& d) {
    const Value::List& corners = look_up_list(d.time_line, "speed");
    const auto speed = [&](std::size_t i) { return look_up_number(corners[i], "mm_per_s").value_or(0); };
    const auto words = [&](std::size_t i) { return tenths(std::optional(speed(i)), Rounding::up) + " mm/s"; };
    for (std::size_t i = 1; i < corners.size(); ++i) {
        const bool last = i + 1 == corners.size();
        std::string what = words(i);
        if (speed(i) == speed(i - 1) && (last || speed(i + 1) == speed(i))) continue;  // no corner
        if (!last && speed(i + 1) < speed(i)) what.insert(0, "slows down from ");
        if (!last && speed(i + 1) > speed(i)) what.insert(0, "speeds up from ");
        events.push_back({at_of(corners[i]), look_up_text(d.time_line, "machine"), what});
    }
}

/// What is said of one more signal, where the same is said of one before.
std::string without_verb(const std::string& what, const std::string& before) {
    for (const std::string verb : {"computes ", "uses "})
        if (what.starts_with(verb) && before.find(verb) != std::string::npos) return what.substr(verb.size());
    return what;
}

/// In order of time; what happens at one place at one time, without a mark, in one row.
Events events_of(const Dossier& d) {
    Events events;
    add_guards_of(events, d);
    add_injections(events, d);
    add_states(events, d);
    add_signals(events, d);
    add_values(events, d);
    add_speed(events, d);
    std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.at < b.at; });
    Events joined;
    for (Event& event : events) {
        const auto before = std::find_if(joined.rbegin(), joined.rend(), [&](const Event& e) {
            return e.at != event.at || (e.where == event.where && e.mark == Mark::none);
        });
        if (event.mark == Mark::none && before != joined.rend() && before->at == event.at)
            before->what += "; " + without_verb(event.what, before->what);
        else
            joined.push_back(std::move(event));
    }
    return joined;
}

}  // namespace

void add_time_line(Sheet& sheet, const Dossier& d) {
    if (is_null(d.time_line)) return;
    sheet.blocks.emplace_back(SheetHeading{.margin = "8", .text = "Time line", .id = "time-line"});
    const Events events = events_of(d);
    sheet.blocks.emplace_back(
        SheetChart{"timeline", "States, guards, signals and machine over time",
                   "States of both ends, each guard's contact, each signal as its user reads it and, dotted, as its "
                   "sender computed it, the machine's speed, and where faults were injected and caught. Arrow keys "
                   "move, + and - change the scale, Home and End go to the begin and the whole.",
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

}  // namespace tools
