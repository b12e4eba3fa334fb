#include "tools/desk/watchdog_curves.hpp"

#include <algorithm>
#include <chrono>
#include <utility>

#include "tools/desk/typed_plant.hpp"
#include "tools/desk/watchdog_told.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

constexpr proto::Duration quiet_for = proto::milliseconds(300);
constexpr std::int64_t patience_ms = 1500;  ///< a first table that took longer gets no second one, five times as long

std::int64_t now_ms() { return std::chrono::steady_clock::now().time_since_epoch() / std::chrono::milliseconds(1); }

/// A curve of what was typed before: nothing of it is called usable.
Value as_old(const Value& told) {
    Value::Object old = *told.object();
    for (Value::Member& member : old) {
        if (member.key == "state") member.value = "reckoning";
        if (member.key == "window") member.value = Value();
        if (member.key == "sentence") member.value = "Being reckoned anew; what is drawn is of what was typed before.";
    }
    return old;
}

std::string error_in(const Value& document, const Child& child) {
    const std::string words = look_up_text(document, "error", "message");
    return words.empty() ? child.last_line() : words;
}

}  // namespace

void WatchdogCurves::ask(Asked asked, proto::Instant now) {
    asked_ = std::move(asked);
    asked_at_ = now;
    for (Link& link : links_) {
        link.child.reset();  // ends what is under way
        link.done = false;
        link.stale = true;
    }
    if (!asked_.typed) links_.clear();
}

void WatchdogCurves::begin_all() {
    asked_at_.reset();
    if (!asked_.typed) return;
    std::vector<Link> before = std::exchange(links_, {});
    for (std::size_t i = 0; i < asked_.typed->links(); ++i) {
        Link& link = links_.emplace_back();
        link.name = asked_.typed->link_name(i);
        // its curve is shown until there is another, and told to be old
        for (Link& one : before)
            if (one.name == link.name && !is_null(one.told)) {
                link.told = std::move(one.told);
                link.stale = true;
            }
    }
}

void WatchdogCurves::begin(Link& link, const std::vector<std::string>& more) {
    std::vector<std::string> arguments{"watchdog", "-", "--json"};
    if (!link.name.empty()) arguments.insert(arguments.end(), {"--link", link.name});
    arguments.insert(arguments.end(), more.begin(), more.end());
    link.dense = !more.empty();
    link.begun_ms = now_ms();
    auto child =
        Child::start({.arguments = std::move(arguments), .folder = asked_.folder, .input = asked_.typed->text()});
    if (child) {
        link.child.emplace(std::move(child).value());
        link.child->stand_back();
        return;
    }
    link.why = child.error();
    link.done = true;
}

void WatchdogCurves::look(proto::Instant now) {
    if (asked_at_ && now - *asked_at_ >= quiet_for) begin_all();
    if (asked_at_) return;
    bool under_way = false;
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Link& link = links_[i];
        if (!link.child) continue;
        const std::optional<int> status = link.child->over();
        if (!status) {
            under_way = true;
            continue;
        }
        take(link, *status);
        describe(link, i);
        under_way = under_way || link.child.has_value();
    }
    if (under_way) return;
    const auto next = std::find_if(links_.begin(), links_.end(), [](const Link& link) { return !link.done; });
    if (next != links_.end()) begin(*next, {});
}

void WatchdogCurves::take(Link& link, int status) {
    const Child child = std::move(*link.child);
    link.child.reset();
    auto document = from_json(child.output());
    const bool good = (status == 0 || status == 1) && document && look_up(document.value(), "points").list() != nullptr;
    if (link.dense) {
        if (good) link.more = std::move(document).value();
        link.done = true;
        return;
    }
    if (!good) {
        link.why = document ? error_in(document.value(), child) : child.last_line();
        link.done = true;
        return;
    }
    link.first = std::move(document).value();
    const std::vector<std::string> more = options_between(link.first);
    if (more.empty() || now_ms() - link.begun_ms > patience_ms)
        link.done = true;
    else
        begin(link, more);
}

void WatchdogCurves::describe(Link& link, std::size_t number) {
    link.stale = false;
    link.told = {};
    if (is_null(link.first)) return;
    const WatchdogAnswers answers{
        .first = &link.first, .more = is_null(link.more) ? nullptr : &link.more, .reckons = !link.done};
    link.told = watchdog_told(*asked_.typed, number, answers, asked_.agree);
}

bool WatchdogCurves::reckons() const {
    return asked_at_.has_value() ||
           std::any_of(links_.begin(), links_.end(), [](const Link& link) { return !link.done; });
}

Value WatchdogCurves::told() const {
    Value::List all;
    for (const Link& link : links_) {
        if (!is_null(link.told)) {
            all.push_back(link.stale ? as_old(link.told) : link.told);
            continue;
        }
        all.push_back(Value::Object{{"link", link.name},
                                    {"state", link.done ? "none" : "reckoning"},
                                    {"why", link.why},
                                    {"points", Value::List{}},
                                    {"window", Value()},
                                    {"sentence", link.why}});
    }
    if (all.empty() && !asked_.why_not.empty())
        all.push_back(Value::Object{{"link", ""},
                                    {"state", "none"},
                                    {"why", asked_.why_not},
                                    {"points", Value::List{}},
                                    {"window", Value()},
                                    {"sentence", asked_.why_not}});
    return all;
}

WatchdogCurves::Truth WatchdogCurves::truth() const {
    if (!asked_.why_not.empty()) return {"none", "", "no watchdog can be told: " + asked_.why_not};
    const bool waits = asked_at_ || links_.empty() || std::any_of(links_.begin(), links_.end(), [](const Link& link) {
                           return link.stale || (is_null(link.told) && !link.done);
                       });
    if (waits) return {"none", "", "watchdog is being reckoned"};
    Truth truth{"ok", "", ""};
    for (const Link& link : links_) {
        const std::string lead = link.name.empty() ? "" : link.name + " ";
        if (is_null(link.told)) return {"none", "", lead + "no watchdog can be told: " + link.why};
        const Value& window = look_up(link.told, "window");
        const auto longest = look_up_number(link.told, "now_ms"),
                   shortest = look_up_number(link.told, "now_shortest_ms");
        const bool alike = longest == shortest;
        const std::string now = ", now " +
                                (alike ? "" : tenths(look_up(link.told, "now_shortest_ms"), Rounding::down) + " and ") +
                                tenths(look_up(link.told, "now_ms"), Rounding::up) + " ms";
        if (is_null(window)) {
            if (look_up_text(link.told, "sentence").starts_with("Cannot"))
                return {"none", "", lead + "which watchdog is usable cannot be told"};
            return {"warns", asked_.agree ? "NO USABLE WATCHDOG" : "",
                    lead + (asked_.agree ? "" : "no usable watchdog")};
        }
        const auto from = look_up_number(window, "from_ms"), to = look_up_number(window, "to_ms");
        const std::string range = tenths(look_up(window, "from_ms"), Rounding::up) +
                                  (to ? " to " + tenths(look_up(window, "to_ms"), Rounding::down) + " ms" : " ms on");
        const bool within = longest && shortest && from && *shortest >= *from && (!to || *longest <= *to);
        truth.rest += (truth.rest.empty() ? "" : "; ") + lead + (asked_.agree ? "" : "usable once the ends agree: ") +
                      range + now + (within ? "" : ", OUTSIDE");
        if (!within) truth.mark = "warns";
        if (look_up(link.told, "ideal_channel").is_true()) truth.rest += " (ideal channel)";
    }
    const bool several = links_.size() > 1;
    if (truth.mark == "ok") truth.word = !asked_.agree ? "" : several ? "USABLE, ONE AT A TIME" : "USABLE";
    if (!asked_.agree && truth.mark == "ok") truth.mark = "none";
    if (truth.mark == "warns" && asked_.agree) truth.word = "NOT USABLE NOW";
    return truth;
}

}  // namespace tools
