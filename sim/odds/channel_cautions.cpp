#include "sim/odds/channel_cautions.hpp"

#include <algorithm>
#include <array>
#include <iterator>

#include "sim/channel/delay_law.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/odds/trip_odds.hpp"
#include "sim/scenario/fitted_tail_words.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/measured_delays.hpp"

namespace sim {

bool is_ideal(const Scenario& scenario) {
    const ChannelSettings* const ways[] = {&scenario.to_device, &scenario.to_controller};
    return std::all_of(std::begin(ways), std::end(ways), [](const ChannelSettings* way) {
        if (way->delay.was_measured()) return false;  // however even: a longer one may come
        const bool loses = way->loss > 0.0 || way->bursts || way->bit_error_rate > 0.0;
        return !loses && !way->queue && latest_of(way->delay) == shortest_of(way->delay);
    });
}

namespace {

/// How measured round trips are told apart into ways.
std::string in_words_of_round_trips(const Scenario& scenario) {
    const bool out_varies = scenario.to_device.delay.samples != 0;
    const bool back_varies = scenario.to_controller.delay.samples != 0;
    const OfRoundTrips& of =
        *(scenario.to_device.delay.of_round_trips ? scenario.to_device : scenario.to_controller).delay.of_round_trips;
    const std::string half = written(Duration{of.shortest.ns / 2});
    if (scenario.to_device.delay.of_round_trips && scenario.to_controller.delay.of_round_trips &&
        out_varies != back_varies)
        return "The times are round trips, each drawn as one: " + half + ", half of the shortest, on the way " +
               (out_varies ? "back" : "out") + ", all the rest on the way " + (out_varies ? "out" : "back") +
               ", since a late one is nearly always late on one way" +
               (of.stated == OfRoundTrips::Late::stated
                    ? ", which split in the scenario states."
                    : "; nobody knows on which, so the odds of times drawn alone hold for either.");
    return "The times are round trips of which nobody knows on which way they were late: all of each over half of the "
           "shortest is taken for every way that they are given to.";
}

/// The median of measured delays.
Duration longest_of_half(const DelayShape& shape) { return Duration{DelayChance(shape).quantile(0.5)}; }

using Ways = std::array<const ChannelSettings*, 2>;

Ways ways_of(const Scenario& scenario) { return {&scenario.to_device, &scenario.to_controller}; }

template <class Holds>
bool any(const Ways& ways, Holds&& holds) {
    return std::any_of(ways.begin(), ways.end(), [&](const ChannelSettings* w) { return holds(*w); });
}

std::uint64_t samples_of(const Ways& ways) { return std::max(ways[0]->delay.samples, ways[1]->delay.samples); }

void about_measured(const Scenario& scenario, std::vector<std::string>& cautions) {
    const Ways ways = ways_of(scenario);
    const std::uint64_t samples = samples_of(ways);
    if (samples != 0)
        cautions.push_back(
            "The delays were measured: " + std::to_string(samples) + " samples. Of all delays, a share of up to " +
            two_digits(100.0 * unseen_share(samples)) +
            " % may be longer than the longest of them (95 %), and nobody knows by how much: the high figure, by which "
            "a watchdog is called usable, takes each of these " +
            (scenario.declared_delay ? "to be as long as one_way_delay of [limit], for which somebody must stand."
                                     : "for a stop."));
    // most often both ways are of one capture
    std::vector<std::string> captured;
    for (const ChannelSettings* way : ways)
        for (std::string& clause : about_captured(way->delay))
            if (std::find(captured.begin(), captured.end(), clause) == captured.end())
                captured.push_back(std::move(clause));
    for (const std::string& clause : captured) cautions.push_back("The delays of the capture " + clause + ".");
    for (const ChannelSettings* way : ways)
        if (way->delay.of_round_trips && way->delay.of_round_trips->part == OfRoundTrips::Part::all_that_varies) {
            cautions.push_back(in_words_of_round_trips(scenario));
            break;
        }
    for (const ChannelSettings* way : ways)
        if (way->delay.fitted && cautions.back() != in_words(*way->delay.fitted))
            cautions.push_back(in_words(*way->delay.fitted));
    constexpr Duration seldom_so_short = proto::microseconds(10);
    if (any(ways, [&](const ChannelSettings& w) {
            return w.delay.samples != 0 && longest_of_half(w.delay) < seldom_so_short;
        }))
        cautions.emplace_back(
            "Half of the measured times are under 0.01 ms one way, which hardly any network does: were they seconds, "
            "in a column that says ms?");
}

void about_losses(const Ways& ways, std::vector<std::string>& cautions) {
    std::uint64_t together = 0;
    for (const ChannelSettings* way : ways) together = std::max(together, way->delay.lost_together);
    if (together != 0)
        cautions.push_back(
            "The losses that were measured come together, with up to " + std::to_string(together) +
            " in a row, and here each is drawn alone: every figure is better than the truth. State the "
            "losses as bursts (see the README of the scenarios), and take the empty rows out of the file.");
    if (any(ways, [](const ChannelSettings& w) { return w.loss > 0.0 && !w.bursts && w.delay.lost_together == 0; }))
        cautions.emplace_back(std::string(any(ways, [](const ChannelSettings& w) { return w.bursts.has_value(); })
                                              ? "The losses of one way are independent."
                                              : "The losses are independent.") +
                              " Often they come in bursts, and then each further cycle of "
                              "watchdog gains far less: see loss in bursts in the README of the scenarios.");
}

}  // namespace

std::vector<std::string> cautions_about(const Scenario& scenario) {
    std::vector<std::string> cautions;
    const bool ideal = is_ideal(scenario);
    if (ideal)
        cautions.emplace_back(
            "The channel as described never varies, loses or bends anything, as no real one does: every "
            "figure here is a best case. Give it measured delays and losses before you set a watchdog by it.");
    const Ways ways = ways_of(scenario);
    about_measured(scenario, cautions);
    if (any(ways, [](const ChannelSettings& w) { return !w.delay.preset.empty(); }))
        cautions.emplace_back(
            "The delays are a preset, which is only an illustration: measure your own network before "
            "you rely on the lower end.");
    const bool losses = any(
        ways, [](const ChannelSettings& w) { return w.loss > 0.0 || w.bursts || w.bit_error_rate > 0.0 || w.queue; });
    if (!losses && samples_of(ways) == 0 && !ideal)
        cautions.emplace_back(
            "The channel as described loses nothing and bends nothing; a real one does. Give it "
            "losses, or measured delays, before you rely on the lower end.");
    about_losses(ways, cautions);
    if (any(ways, [](const ChannelSettings& w) { return w.queue && w.queue->ramp_to != w.queue->load; }))
        cautions.emplace_back("The load of the other traffic is taken as it is after its ramp.");
    return cautions;
}

}  // namespace sim
