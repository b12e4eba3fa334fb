#include "tools/report/report_found.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// The later in this list, the more a reader must see it.
int weight_of(Mark mark) {
    switch (mark) {
        case Mark::dangerous: return 5;
        case Mark::fails: return 4;
        case Mark::differs: return 3;
        case Mark::warns: return 2;
        case Mark::unknown: return 1;
        case Mark::none:
        case Mark::starting:
        case Mark::running:
        case Mark::stopped:
        case Mark::waits: return 0;
    }
    return 0;
}

bool is_bad(const AllFound& all) {
    return std::any_of(all.begin(), all.end(), [](const Found& one) { return weight_of(one.mark) >= 4; });
}

std::uint64_t counted_in(const Value& document, const char* key) { return count_of(look_up_number(document, key)); }

/// Faults that were dangerous, and one more where something was that no fault had caused.
std::uint64_t dangers_of(const Value& result) {
    std::set<std::string> struck;
    for (const Value& injection : look_up_list(result, "injections"))
        if (look_up_text(injection, "outcome") == "dangerous") struck.insert(scalar_text(look_up(injection, "id")));
    for (const Value& event : look_up_list(result, "dangerous"))
        struck.insert(scalar_text(look_up(event, "injection")));
    return struck.size();
}

void add_trials(AllFound& all, const Value& campaign, const std::string& to) {
    const std::string words = campaign_in_words(campaign);
    if (words.empty() || words.starts_with("PASS")) return;
    const double dangerous = look_up_number(campaign, "outcomes", "dangerous").value_or(0);
    all.push_back(
        {{dangerous > 0 ? Mark::dangerous : Mark::fails, "campaign: " + words, dangerous > 0 ? "#dangers" : to},
         count_of(dangerous)});
}

/// What is wrong without any fault, or afterwards.
void add_without_faults(AllFound& all, const Dossier& link) {
    const Value& r = link.result;
    const std::string to = "#cautions";
    if (const std::uint64_t stops = counted_in(r, "spurious_trips"))
        all.push_back({{Mark::fails, counted(stops, "stop", "stops") + " for nothing", to}, stops});
    if (const std::uint64_t stops = counted_in(look_up(r, "twin"), "spurious_trips"))
        all.push_back(
            {{Mark::fails, counted(stops, "stop", "stops") + " for nothing in the run without faults", to}, stops});
    if (!look_up(r, "twin", "recovered").is_true())
        all.push_back({{Mark::fails, "RECOVERY FAILED after a stop", to}, 0});
    const auto bound = look_up_number(r, "response", "bound_ms"), most = look_up_number(r, "response", "required_ms");
    if (bound && most && *bound > *most)
        all.push_back({{Mark::fails, "calculated worst response longer than required", to}, 0});
    for (const Value& value : look_up_list(r, "values"))
        if (const std::uint64_t telegrams = counted_in(value, "out_of_range"))
            all.push_back({{Mark::fails, look_up_text(value, "name") + " read out of its range", to}, telegrams});
}

/// The dossier of that link; nullptr where the documents have none of that name.
const Dossier* link_of(const Dossier& d, const Value& drawn) {
    if (d.links.empty()) return &d;
    const auto link = std::find_if(d.links.begin(), d.links.end(), [&](const Dossier& one) {
        return look_up_text(one.result, "link") == look_up_text(drawn, "name");
    });
    return link == d.links.end() ? nullptr : &*link;
}

std::string behind_of(const Dossier& d, const Dossier& link) {
    return d.links.empty() ? std::string() : "-" + std::to_string(&link - d.links.data() + 1);
}

/// Of all links together: what no link's own figures have.
AllFound found_at_controller(const Dossier& d, const Value& drawing) {
    AllFound all;
    if (!d.links.empty()) add_trials(all, d.campaign, "#campaign");
    if (!d.links.empty() && !look_up(d.result, "twin", "recovered").is_true() &&
        look_up(d.result, "link_started").is_true())
        all.push_back({{Mark::fails, "RECOVERY FAILED after a stop", "#cautions"}, 0});
    for (Found& one : found_typed(look_up(drawing, "controller_differs"), d.links.empty() ? "" : "-1")) {
        if (!d.links.empty()) one.to = "#links";
        all.push_back(std::move(one));
    }
    return all;
}

}  // namespace

AllFound found_typed(const Value& differs, const std::string& behind) {
    const std::uint64_t number = count_of(number_of(differs));
    if (number == 0) return {};
    return {{{Mark::differs, counted(number, "setting differs", "settings differ"), "#settings" + behind}, number}};
}

AllFound found_at_link(const Dossier& link, const Value& drawn, const std::string& behind) {
    const Value& r = link.result;
    const std::uint64_t dangers = dangers_of(r);
    AllFound all;
    if (dangers > 0)
        all.push_back(
            {{Mark::dangerous, counted(dangers, "dangerous outcome", "dangerous outcomes"), "#dangers"}, dangers});
    add_trials(all, link.campaign, behind.empty() ? "#reactions" : "#campaign" + behind);
    if (const std::uint64_t years = counted_in(link.endurance, "dangerous"))
        all.push_back({{Mark::dangerous, "endurance: " + std::to_string(years) + " dangerous", "#dangers"}, years});
    const Value::List& injections = look_up_list(r, "injections");
    if (!look_up(r, "link_started").is_true()) {
        all.push_back({{Mark::fails, "NEVER RAN: nothing about it was rehearsed", "#cautions"}, 0});
    } else {
        const auto other =
            static_cast<std::uint64_t>(std::count_if(injections.begin(), injections.end(), [](const Value& injection) {
                return !look_up(injection, "as_expected").is_true() &&
                       look_up_text(injection, "outcome") != "dangerous";
            }));
        if (other > 0)
            all.push_back(
                {{Mark::fails, counted(other, "injection", "injections") + " not as expected", "#injections"}, other});
        add_without_faults(all, link);
    }
    for (Found& one : found_typed(look_up(drawn, "differs"), behind)) all.push_back(std::move(one));
    if (look_up_text(r, "verdict") == "not-judged")
        all.push_back({{Mark::unknown, "not judged: this computer was too late", "#repeat"}, 0});
    else if (!is_bad(all))
        all.push_back({{Mark::none,
                        injections.empty() ? std::string("nothing was injected")
                                           : counted(injections.size(), "injection", "injections") + ", as expected",
                        {}},
                       0});
    return all;
}

FoundAtParts found_at_parts(const Dossier& d) {
    const Value& drawing = look_up(d.plant, "drawing");
    FoundAtParts found;
    found.controller = found_at_controller(d, drawing);
    for (const Value& drawn : look_up_list(drawing, "links")) {
        const Dossier* const link = link_of(d, drawn);
        found.links.push_back(link == nullptr ? AllFound{{{Mark::unknown, "nothing is told of it", {}}, 0}}
                                              : found_at_link(*link, drawn, behind_of(d, *link)));
    }
    for (const Value& drawn : look_up_list(drawing, "stations")) {
        const Dossier* const link = link_of(d, Value::Object{{"name", look_up(drawn, "link")}});
        found.stations.push_back(found_typed(look_up(drawn, "differs"), link == nullptr ? "" : behind_of(d, *link)));
    }
    for (const Value& drawn : look_up_list(drawing, "safeguards")) found.safeguards.push_back(found_at_guard(d, drawn));
    for (const Value& drawn : look_up_list(drawing, "machines"))
        found.machines.push_back(found_at_machine(d, look_up_text(drawn, "name")));
    return found;
}

const Found* worst_of(const AllFound& all) {
    const auto worst = std::max_element(
        all.begin(), all.end(), [](const Found& a, const Found& b) { return weight_of(a.mark) < weight_of(b.mark); });
    return worst == all.end() || weight_of(worst->mark) == 0 ? nullptr : &*worst;
}

bool any_bad(const FoundAtParts& found) {
    const auto in = [](const std::vector<AllFound>& parts) { return std::any_of(parts.begin(), parts.end(), is_bad); };
    return is_bad(found.controller) || in(found.links) || in(found.stations) || in(found.safeguards) ||
           in(found.machines);
}

}  // namespace tools
