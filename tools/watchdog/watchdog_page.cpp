#include "tools/watchdog/watchdog_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>

#include "sim/numeric/portable_math.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::WatchdogPoint;

std::string title_of(const sim::Scenario& scenario) {
    std::string title = plain(scenario.title.empty() ? scenario.file : scenario.title);
    while (title.size() > 1 && title.back() == '.') title.pop_back();  // each sentence adds its own
    return title;
}

std::string ms(proto::Duration time) { return sim::written(time); }

bool same_watchdog(const sim::Scenario& scenario) {
    return scenario.controller.link.watchdog == scenario.device.link.watchdog;
}

std::string now_set(const sim::Scenario& scenario) {
    std::string controller = ms(scenario.controller.link.watchdog);
    if (same_watchdog(scenario)) return controller;
    return controller + " and " + ms(scenario.device.link.watchdog);
}

void head(Page& page, const sim::Scenario& scenario, const sim::WatchdogWindow& window) {
    if (window.cannot_be_told) {
        page.headline("CANNOT BE TOLD", Hue::caution, title_of(scenario) + ". " + window.why);
        return;
    }
    if (!window.open()) {
        page.headline("NO USABLE WATCHDOG", Hue::danger, title_of(scenario) + ". " + window.why);
        return;
    }
    if (window.ideal_channel) {
        // whoever reads one line only must not take the figure for one of a real channel
        page.limited_headline("IDEAL CHANNEL", Hue::caution,
                              ", which never varies, loses or bends anything, as no real one does: a best case, and no "
                              "watchdog to set by. Usable from " +
                                  ms(*window.lowest) + (window.highest ? " to " + ms(*window.highest) : "") +
                                  " (now set: " + now_set(scenario) + "). " + title_of(scenario) + ".");
        page.paragraph("  ", window.why);
        return;
    }
    std::string verdict = "USABLE FROM " + ms(*window.lowest);
    if (window.highest) verdict += " TO " + ms(*window.highest);
    page.headline(
        verdict, window.highest ? Hue::good : Hue::caution,
        "suggested " + ms(*window.suggested) + " (now set: " + now_set(scenario) + "). " + title_of(scenario) + ".");
    page.paragraph("  ", window.why);
}

std::string needed_text(const WatchdogPoint& point) {
    return point.needed ? std::to_string(sim::whole_mm_up(*point.needed)) + " mm" : "-";
}
std::string spare_text(const WatchdogPoint& point) {
    if (!point.spare_um) return "-";
    constexpr std::int64_t um_per_mm = 1000;
    const std::int64_t um = *point.spare_um;  // what is to spare is rounded down, what is short up
    const std::int64_t whole = um >= 0 ? um / um_per_mm : -((-um + um_per_mm - 1) / um_per_mm);
    return std::to_string(whole) + " mm";
}
std::string overall_text(const WatchdogPoint& point) {
    if (point.overall) return in_ms(*point.overall, Rounding::up);
    return point.response ? in_ms(*point.response, Rounding::up) : "-";
}
std::string usable_text(const WatchdogPoint& point) {
    const std::optional<bool> usable = point.usable();
    if (!usable) return "not told";
    if (*usable) return "yes";
    return point.stops != sim::RareEnough::no ? "no: too late" : point.kept ? "no: stops" : "no: both";
}

/// Few letters for the table; the whole words are in the document.
std::string_view short_name_of(sim::StopCause cause) {
    using sim::StopCause;
    switch (cause) {
        case StopCause::controller_watchdog: return "answer late";
        case StopCause::device_watchdog: return "telegram late";
        case StopCause::bent_to_device: return "bits, way out";
        case StopCause::bent_to_controller: return "bits, way back";
        case StopCause::missing_to_device: return "gap, way out";
        case StopCause::missing_to_controller: return "gap, way back";
        case StopCause::order_to_device: return "order, way out";
        case StopCause::order_to_controller: return "order, way back";
        case StopCause::age_to_device: return "age, way out";
        case StopCause::age_to_controller: return "age, way back";
    }
    return "?";
}

std::string cause_text(const WatchdogPoint& point) {
    return point.odds.main_cause ? std::string(short_name_of(*point.odds.main_cause)) : "-";
}

/// "5 of 5 000": what the file itself says, without any model.
std::string longer_text(const WatchdogPoint& point) {
    if (!point.odds.measured) return "-";
    return std::to_string(point.odds.measured->longer) + " of " + grouped(point.odds.measured->samples);
}

char mark_of(const WatchdogPoint& point, const sim::Scenario& scenario, const sim::WatchdogWindow& window) {
    if (window.suggested && point.watchdog == *window.suggested) return '*';
    const bool set = same_watchdog(scenario) && point.watchdog == scenario.controller.link.watchdog;
    return set ? '=' : ' ';
}

/// Of which parts that column is the sum, and which of them each limit is about: a limit of the link alone is not
/// compared with the sum.
void sum_and_limits(Page& page, const sim::Scenario& scenario, const std::string& column) {
    const std::vector<sim::FunctionTime> times = sim::function_times(scenario);
    const sim::FunctionTime* decides = sim::tightest(times);
    const sim::ResponseTime response = decides != nullptr ? decides->response : sim::response_of(scenario);
    std::string sum, others;
    for (const sim::ResponsePart& part : response.parts) {
        const bool is_link = part.name == "link";
        if (!is_link && part.with_fault.ns == 0) continue;
        sum += (sum.empty() ? "" : " + ") + part.name + (is_link ? "" : " " + ms(part.delay));
    }
    const auto stop = decides != nullptr ? decides->stopping() : response.stopping;
    if (response.response && stop) sum += " + stop " + ms(*stop);
    page.paragraph(" ", column + ": " + sum + (decides == nullptr ? "." : ", of " + decides->safeguard + "."));
    if (decides != nullptr && decides->limit())
        page.paragraph(" ", "Limit of this sum: " + sim::limit_in_words(*decides) + ", of \"" +
                                scenario.functions[decides->function].name + "\", the tightest function.");
    if (scenario.required.overall)
        page.paragraph(" ", "Limit of this sum: " + ms(*scenario.required.overall) + ", required.overall.");
    const bool at_device = !scenario.machine || scenario.machine->at == sim::End::device;
    const auto& link = at_device ? scenario.required.to_device : scenario.required.to_controller;
    if (link && sum != "link")
        page.paragraph(" ", "Limit of the link alone: " + ms(*link) + ", " +
                                (at_device ? "required.to_device" : "required.to_controller") +
                                "; compare it with this sum less all that is not link.");
}

void table(Page& page, const sim::Scenario& scenario, const WatchdogFindings& found) {
    const bool overall = std::any_of(found.points.begin(), found.points.end(),
                                     [](const WatchdogPoint& point) { return point.overall.has_value(); });
    const std::string time = overall ? "till still" : "response";
    const bool measured = std::any_of(found.points.begin(), found.points.end(),
                                      [](const WatchdogPoint& point) { return point.odds.measured.has_value(); });
    if (!same_watchdog(scenario))
        page.paragraph(" ", "As typed, " + now_set(scenario) + ": " + sim::in_words(found.as_typed.worse()) + ".");
    if (page.columns().wide())
        page.line("   watchdog  stops for nothing            " +
                  left_aligned(measured ? "measured longer" : "mostly by", 16) + right_aligned(time, 10) +
                  "   needed to spare  usable");
    else
        page.line("   watchdog  stops for nothing            usable");
    for (const WatchdogPoint& point : found.points) {
        std::string row = " ";
        row += mark_of(point, scenario, found.window);
        row += right_aligned(ms(point.watchdog), 9) + "  " + left_aligned(sim::in_words(point.odds.worse()), 28) + " ";
        const std::string cause = measured ? longer_text(point) : cause_text(point);
        if (page.columns().wide()) {
            row += left_aligned(cause, 16) + right_aligned(overall_text(point), 10) +
                   right_aligned(needed_text(point), 9) + right_aligned(spare_text(point), 9) + "  " +
                   usable_text(point);
            page.line(row);
        } else {
            page.line(row + usable_text(point));
            page.line(std::string(13, ' ') + "still after " + overall_text(point) + ", needed " + needed_text(point) +
                      ", to spare " + spare_text(point));
        }
    }
    if (found.neighbours.blocks != std::array<std::uint64_t, 2>{}) {
        const auto from = [](const std::optional<proto::Duration>& lowest) {
            return lowest ? "usable from " + ms(*lowest) : std::string("none usable");
        };
        page.paragraph(" ", "The worse of two models: each delay drawn alone, " + from(found.window.lowest_alone) +
                                "; in blocks as measured, " + from(found.window.lowest_in_blocks) + ".");
    }
    if (measured)
        page.paragraph(" ", "Measured longer: times in the file that are too long for an exchange with that watchdog.");
    page.line(" * suggested, = now set. Usable: no more than " + sim::in_words_of(found.window.limit_per_year) +
              (scenario.trip_limit.stated ? ", as the scenario says." : ", unless the scenario says otherwise."));
    sum_and_limits(page, scenario, time);
}

/// The power of ten of the stops a year that are drawn for it, the upper figure; nothing where they are rarer than what
/// is claimed.
std::optional<double> decade_of(const WatchdogPoint& point) {
    const sim::TripOdds& odds = point.odds.worse();
    const double shown = odds.high.value_or(odds.per_year);
    if (!(shown > 0.0) || (!odds.claimed && shown <= sim::rarest_claim_per_year)) return std::nullopt;
    return sim::portable_log10(shown);
}

/// The axis of a chart: rows of decades, the highest first; one row more is for what has no decade.
class Axis {
  public:
    /// Of the limit and all points; nothing if none of these has a decade.
    static std::optional<Axis> of(const WatchdogFindings& found) {
        std::optional<double> least, greatest;
        for (const WatchdogPoint& point : found.points)
            if (const auto at = decade_of(point)) {
                least = std::min(least.value_or(*at), *at);
                greatest = std::max(greatest.value_or(*at), *at);
            }
        if (!least) return std::nullopt;
        return Axis{sim::portable_log10(found.window.limit_per_year), *least, *greatest};
    }
    [[nodiscard]] int rows() const { return (top_ - bottom_) / per_row_; }
    [[nodiscard]] int row_of(double decade) const { return static_cast<int>(std::lround((top_ - decade) / per_row_)); }
    [[nodiscard]] int limit_row() const { return row_of(limit_); }
    [[nodiscard]] int row_of(const WatchdogPoint& point) const {
        const auto at = decade_of(point);
        return at ? row_of(*at) : rows() + 1;
    }
    [[nodiscard]] std::string label(int row) const {
        if (row == limit_row()) return right_aligned("limit", 10) + " ";
        if (row > rows()) return right_aligned("", 11);
        std::array<char, 16> power{};
        std::snprintf(power.data(), power.size(), "1e%+03d", top_ - row * per_row_);
        return right_aligned(power.data(), 10) + " ";
    }

  private:
    Axis(double limit, double least, double greatest)
        : limit_(limit),
          top_(static_cast<int>(std::ceil(std::max(greatest, limit + 1)))),
          bottom_(static_cast<int>(std::floor(std::min(least, limit - 1)))) {
        constexpr int rows_most = 12;
        per_row_ = (top_ - bottom_ + rows_most - 1) / rows_most;
    }
    double limit_;
    int top_, bottom_, per_row_ = 1;
};

char drawn_as(const WatchdogPoint& point, const sim::Scenario& scenario, const sim::WatchdogWindow& window) {
    if (!point.odds.worse().claimed || !decade_of(point)) return 'v';
    return mark_of(point, scenario, window) == '*' ? '*' : 'o';
}

std::string row_of_chart(const Axis& axis, int row, std::size_t width, const sim::Scenario& scenario,
                         const WatchdogFindings& found) {
    std::string line = axis.label(row) + "|";
    for (const WatchdogPoint& point : found.points) {
        std::string cell(width, row == axis.limit_row() ? '-' : ' ');
        if (axis.row_of(point) == row) cell[width / 2] = drawn_as(point, scenario, found.window);
        line += cell;
    }
    while (line.back() == ' ') line.pop_back();
    return line;
}

char use_of(const WatchdogPoint& point) {
    const std::optional<bool> usable = point.usable();
    if (!usable) return '?';
    return *usable ? '=' : point.stops == sim::RareEnough::no ? 's' : 'l';
}

/// Whether each is usable, or what is against it.
std::string use_below_chart(const std::vector<WatchdogPoint>& points, std::size_t width) {
    std::string use(12, ' ');
    for (const WatchdogPoint& point : points) use += std::string(width, use_of(point));
    return use;
}

std::string names_below_chart(const std::vector<WatchdogPoint>& points, std::size_t width) {
    std::string names(12, ' ');
    const std::size_t each = 8 / width + 1;
    for (std::size_t i = 0; i < points.size(); i += each) {
        names.resize(std::max(names.size(), 12 + i * width), ' ');
        names += ms(points[i].watchdog);
    }
    return names;
}

/// Stops a year on a logarithmic axis over the watchdogs of the table.
void chart(Page& page, const sim::Scenario& scenario, const WatchdogFindings& found) {
    const std::vector<WatchdogPoint>& points = found.points;
    const std::optional<Axis> axis = Axis::of(found);
    const std::size_t room = page.columns().count - 20;
    if (!axis || points.size() < 3 || points.size() > room) return;
    const std::size_t width = std::min<std::size_t>(room / points.size(), 8);
    page.blank();
    page.line(" stops a year, the upper figure");
    for (int row = 0; row <= axis->rows() + 1; ++row) page.line(row_of_chart(*axis, row, width, scenario, found));
    page.line(std::string(11, ' ') + "+" + std::string(width * points.size(), '-'));
    page.line(use_below_chart(points, width));
    page.line(names_below_chart(points, width));
    page.line(
        "            o * stops a year, v under what is claimed; = usable, s stops too often, l too late, ? not told");
}

/// How the figures of a model came about, a line for each way, with the watchdogs that it is of.
std::vector<std::string> methods_of(const WatchdogFindings& found, const sim::TripOdds& (*odds)(const WatchdogPoint&)) {
    std::vector<std::string> lines;
    for (std::size_t i = 0; i < found.points.size();) {
        std::size_t end = i + 1;
        while (end < found.points.size() && odds(found.points[end]).method == odds(found.points[i]).method) ++end;
        std::string range = ms(found.points[i].watchdog);
        if (end - i > 1) range += " to " + ms(found.points[end - 1].watchdog);
        lines.push_back(range + ": " + odds(found.points[i]).method);
        i = end;
    }
    return lines;
}

void methods(Page& page, const WatchdogFindings& found) {
    const auto alone = [](const WatchdogPoint& point) -> const sim::TripOdds& { return point.odds; };
    const auto in_blocks = [](const WatchdogPoint& point) -> const sim::TripOdds& { return *point.odds.in_blocks; };
    const bool both = !found.points.empty() && found.points.front().odds.in_blocks != nullptr;
    const auto tell = [&page](const std::string& head, const std::vector<std::string>& lines) {
        constexpr std::size_t lines_most = 6;
        const std::size_t shown = std::min(lines.size(), lines_most);
        for (std::size_t i = 0; i < shown; ++i)
            page.paragraph_at(11, i == 0 ? head : std::string(11, ' '), lines[i] + ".");
        if (shown < lines.size()) page.line("           and so on; all of them with --json.");
    };
    tell(both ? "Alone      " : "Method     ", methods_of(found, alone));
    if (both) tell("In blocks  ", methods_of(found, in_blocks));
}

std::string longest_round_trip_text(const sim::Scenario& scenario, const WatchdogFindings& found) {
    const proto::Duration watchdog = scenario.controller.link.watchdog, cycle = scenario.controller.link.cycle;
    const proto::Duration longest = sim::longest_round_trip(watchdog, cycle);
    const std::int64_t cycles = watchdog.ns / cycle.ns;
    std::string text = "A round trip of up to " + ms(longest) + ", the watchdog less a cycle, runs with the " +
                       ms(watchdog) + " now set wherever the scans fall; one of over " + std::to_string(cycles) +
                       (cycles == 1 ? " cycle, " : " cycles, ") + ms(cycle * cycles) + ", never does.";
    if (!found.round_trip_over) return text;
    if (!(found.round_trip_over->high > 0.0)) return text + " The two delays of the channel never add up to more.";
    char share[32];
    std::snprintf(share, sizeof share, "%.2g", found.round_trip_over->high);
    return text + " The two delays of the channel add up to more than " + ms(longest) + " in at most " + share +
           " of all cases.";
}

}  // namespace

Page page_of(const sim::Scenario& scenario, const WatchdogFindings& found, Columns columns) {
    Page page(columns);
    head(page, scenario, found.window);
    if (!found.window.open()) {
        if (found.window.cannot_be_told)
            page.line("  What would tell:");
        else if (!found.window.openers_sought)
            page.line("  What would open a window is not looked for where times are drawn in blocks.");
        else if (found.window.openers.empty())
            page.line("  Nothing that was tried opens a window alone.");
        else
            page.line("  Any one of these opens a window:");
        for (const sim::Opener& opener : found.window.openers)
            page.paragraph_at(16, "    " + left_aligned(opener.change, 12), opener.value);
        page.line("  More stops for nothing are no way out: a plant that keeps stopping gets its guards bridged.");
    }
    page.blank();
    table(page, scenario, found);
    chart(page, scenario, found);
    page.blank();
    methods(page, found);
    if (scenario.controller.link.exchange == proto::Exchange::polled)
        page.paragraph("Runs       ", longest_round_trip_text(scenario, found));
    for (const std::string& caution : found.cautions) page.paragraph("Caution    ", caution);
    return page;
}

}  // namespace tools
