#include "tools/watchdog/cell_watchdog.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "sim/scenario/units.hpp"
#include "sim/timing/function_time.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

std::string now_set(const sim::Scenario& view) {
    const proto::Duration controller = view.controller.link.watchdog, device = view.device.link.watchdog;
    return sim::written(controller) + (device == controller ? "" : " and " + sim::written(device));
}

/// What decides the upper end: the tightest function, if one is over this link.
std::string decided_by(const sim::Scenario& view) {
    const std::vector<sim::FunctionTime> times = sim::function_times(view);
    const sim::FunctionTime* const decides = sim::tightest(times);
    if (decides == nullptr || !decides->limit()) return {};
    return "tightest: \"" + plain(view.functions[decides->function].name) + "\", " + sim::limit_in_words(*decides);
}

std::string text_of(const CellWatchdogs::Link& link) {
    const sim::WatchdogWindow& window = link.found.window;
    std::string text;
    if (window.cannot_be_told)
        text = "cannot be told: " + plain(window.why);
    else if (!window.open())
        text = "NO USABLE WATCHDOG: " + plain(window.why);
    else
        text = "usable from " + sim::written(*window.lowest) +
               (window.highest ? " to " + sim::written(*window.highest) : ", with nothing that ends it");
    if (!text.empty() && text.back() == '.') text.pop_back();
    if (window.ideal_channel) text += " of an ideal channel, which is no watchdog to set by";
    if (window.open() && window.suggested) text += ", suggested " + sim::written(*window.suggested);
    text += "; now set " + now_set(link.view);
    const std::string by = decided_by(link.view);
    return text + (by.empty() ? "" : "; " + by) + ".";
}

bool ideal(const CellWatchdogs& found) {
    return std::any_of(found.links.begin(), found.links.end(),
                       [](const auto& link) { return link.found.window.ideal_channel; });
}

}  // namespace

bool CellWatchdogs::all_open() const {
    return std::all_of(links.begin(), links.end(), [](const Link& link) { return link.found.window.open(); });
}

Page page_of(const CellWatchdogs& found, Columns columns) {
    Page page(columns);
    const auto open = static_cast<std::size_t>(std::count_if(
        found.links.begin(), found.links.end(), [](const auto& link) { return link.found.window.open(); }));
    const std::string title = plain(found.cell.title);
    if (open < found.links.size())
        page.headline("NOT FOR EACH LINK", Hue::danger,
                      title + ": a usable watchdog for " + std::to_string(open) + " of " +
                          counted(found.links.size(), "link", "links") + ", one at a time.");
    else
        page.headline("USABLE, ONE AT A TIME", ideal(found) ? Hue::caution : Hue::good,
                      title + ": what is left for each of " + counted(found.links.size(), "link", "links") + ".");
    page.blank();
    std::size_t width = 0;
    for (const sim::CellLink& link : found.cell.links) width = std::max(width, plain(link.name).size());
    for (std::size_t i = 0; i < found.links.size(); ++i)
        page.paragraph(left_aligned(plain(found.cell.links[i].name), width + 2), text_of(found.links[i]));
    page.blank();
    page.paragraph(
        "  ",
        "Each link while the others stay as they are set. Where links share a wire, a switch or a radio, what "
        "one takes more the others lose, so these do not hold together: set one, then ask again.");
    page.paragraph("One link   ", "linkdrill watchdog " + shell_word(found.cell.file) + " --link NAME");
    return page;
}

Value describe(const CellWatchdogs& found) {
    Value::List links;
    for (std::size_t i = 0; i < found.links.size(); ++i) {
        Value::Object link{{"name", found.cell.links[i].name}};
        const Value of_link = describe(found.links[i].view, found.links[i].found);
        for (const Value::Member& member : *of_link.object())
            if (member.key != "scenario") link.push_back(member);
        links.push_back(std::move(link));
    }
    return Value::Object{{"scenario", found.cell.file}, {"one_at_a_time", true}, {"links", std::move(links)}};
}

}  // namespace tools
