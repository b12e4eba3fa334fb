#include "sim/reading/drill_places.hpp"

#include <algorithm>

#include "sim/reading/parts.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

/// What is wrong with a place, and the mend.
struct Wrong {
    std::string why;
};
using Filled = proto::Result<std::string, Wrong>;

constexpr std::string_view known_places = "{watchdog}, {response}, {overall}, {distance}, {there} or {written KEY}";

/// Whole milliseconds, never fewer than it is.
std::string in_ms(Duration time) {
    constexpr std::int64_t ms = 1'000'000;
    return std::to_string((time.ns + ms - 1) / ms) + " ms";
}

std::string trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(' ');
    return from == std::string_view::npos ? std::string()
                                          : std::string(text.substr(from, text.find_last_not_of(' ') - from + 1));
}

/// What stands under that dotted key, of the first where there are several, as it is written.
std::optional<std::string> written_at(const Node& node, std::string_view key) {
    const Node& one = node.kind == Node::Kind::array && !node.items.empty() ? node.items.front() : node;
    if (key.empty()) {
        if (one.kind == Node::Kind::text) return one.text;
        if (one.kind == Node::Kind::integer) return std::to_string(one.integer);
        return std::nullopt;
    }
    const std::size_t dot = std::min(key.find('.'), key.size());
    const Node* const next = one.find(key.substr(0, dot));
    if (next == nullptr) return std::nullopt;
    return written_at(*next, dot == key.size() ? std::string_view() : key.substr(dot + 1));
}

class Places {
  public:
    explicit Places(const DrillPlant& plant) : plant_(plant) {}

    /// What stands for the place of that text, without its braces; or what is wrong with it, and the mend.
    [[nodiscard]] Filled at(const std::string& place) const {
        const std::string shown = in_quotes("{" + place + "}");
        const std::size_t space = std::min(place.find(' '), place.size());
        const std::string word = place.substr(0, space), rest = trimmed(std::string_view(place).substr(space));
        if (word == "written") {
            if (const auto text = written_at(plant_.written, rest); text && !rest.empty()) return *text;
            return Wrong{shown + ": neither the drill's [scenario] nor its plant " + in_quotes(plant_.name) +
                         " writes such a key; write one such as {written link.watchdog}"};
        }
        if (word == "there" || word == "watchdog") {
            if (!rest.empty()) return Wrong{shown + " takes nothing more; write {" + word + "}"};
            if (word == "watchdog") return watchdog(shown);
            if (!plant_.sheet.distance || !plant_.sheet.distance->there_um) return no_distance(shown, " with there");
            return written(micrometres(*plant_.sheet.distance->there_um));
        }
        if (word != "response" && word != "overall" && word != "distance")
            return Wrong{shown + " is no place; write " + std::string(known_places)};
        if (rest.empty()) return reckoned(word, shown, plant_.sheet);
        const auto other = rest.rfind("at ", 0) == 0
                               ? parse_quantity(rest.substr(3), duration_units())
                               : proto::Result<std::int64_t, QuantityFault>(QuantityFault::no_number);
        if (!other || other.value() <= plant_.sheet.controller.link.cycle.ns || other.value() > overall_most.ns)
            return Wrong{shown + ": no watchdog over the cycle; write for example {" + word + " at 100 ms}"};
        return reckoned(word, shown, with_watchdog(plant_.sheet, Duration{other.value()}));
    }

  private:
    [[nodiscard]] Wrong no_distance(const std::string& shown, const std::string& more) const {
        return {shown + " needs [distance]" + more + " in the plant " + in_quotes(plant_.name) +
                "; add it there, or say it without the figure"};
    }

    [[nodiscard]] Filled watchdog(const std::string& shown) const {
        const Duration controller = plant_.sheet.controller.link.watchdog, device = plant_.sheet.device.link.watchdog;
        if (controller == device) return written(controller);
        return Wrong{shown + ": the two ends have different ones; write {written KEY} with the key that is meant"};
    }

    /// As `linkdrill response` reckons it.
    [[nodiscard]] Filled reckoned(const std::string& word, const std::string& shown, const Scenario& scenario) const {
        if (!scenario.distance) return no_distance(shown, "");
        const ResponseTime response = response_of(scenario);
        const std::optional<Duration> time = word == "response" ? response.response : response.overall;
        if (!time) return Wrong{shown + ": this plant has no such time by its settings; say it without the figure"};
        if (word != "distance") return in_ms(*time);
        const std::optional<Distance> distance = distance_of(scenario, response);
        if (!distance) return Wrong{shown + ": this plant has no such distance; say it without the figure"};
        return std::to_string(whole_mm_up(distance->needed)) + " mm";
    }

    const DrillPlant& plant_;
};

Filled filled(const std::string& text, const Places& places) {
    std::string out;
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t open = std::min(text.find('{', from), text.size());
        out += text.substr(from, open - from);
        if (open == text.size()) break;
        const std::size_t close = text.find_first_of("{}", open + 1);
        if (close == std::string::npos || text[close] == '{')
            return Wrong{in_quotes(text.substr(open)) + " does not end; write }"};
        const Filled place = places.at(text.substr(open + 1, close - open - 1));
        if (!place) return place.error();
        out += place.value();
        from = close + 1;
    }
    return out;
}

void fill(Node& node, const std::string& key, const Places& places, Problems& problems) {
    if (node.kind == Node::Kind::text) {
        Filled text = filled(node.text, places);
        if (text)
            node.text = std::move(text.value());
        else
            problems.say(Place{node.line, key}, text.error().why);
    }
    for (Node& item : node.items) fill(item, key, places, problems);
    for (Member& member : node.members) fill(member.value, key + "." + member.key, places, problems);
}

}  // namespace

Node with_places_filled(Node drill, const DrillPlant& plant, Problems& problems) {
    const Places places(plant);
    for (Member& member : drill.members)
        if (member.key != "scenario") fill(member.value, member.key, places, problems);
    return drill;
}

}  // namespace sim
