#include "sim/odds/neighbours.hpp"

#include <algorithm>

#include "sim/numeric/dependence_words.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// Where they depend on each other further than can be told, as far as a file of that length can show.
std::uint64_t block_of(const Dependence& found) {
    constexpr std::uint64_t share = 10;
    const std::uint64_t most = std::max<std::uint64_t>(found.count / share, 2);
    return std::max<std::uint64_t>(found.block_length.value_or(most), 2);
}

}  // namespace

Neighbours neighbours_of(const Scenario& scenario) {
    Neighbours found;
    const DelayShape* const ways[] = {&scenario.to_device.delay, &scenario.to_controller.delay};
    for (std::size_t i = 0; i < found.ways.size(); ++i) {
        const DelayShape& delay = *ways[i];
        if (!delay.series) continue;
        // the same file for both ways is looked at once
        const bool again = i == 1 && found.ways[0] && ways[0]->series == delay.series;
        found.same_series = again;
        found.ways[i] = again ? found.ways[0] : dependence_of(*delay.series);
        if (found.ways[i]->verdict == DependenceVerdict::dependent) found.blocks[i] = block_of(*found.ways[i]);
        found.typed[i] = delay.block != 0;
        if (found.typed[i]) found.blocks[i] = delay.block;
    }
    return found;
}

std::vector<std::string> in_words(const Neighbours& found) {
    std::vector<std::string> words;
    for (std::size_t i = 0; i < found.ways.size(); ++i) {
        if (!found.ways[i] || (i == 1 && found.same_series)) continue;
        const bool both_told = found.ways[0] && found.ways[1] && !found.same_series;
        std::string text = both_told ? (i == 0 ? "Way out: " : "Way back: ") : "";
        text += in_words(*found.ways[i]);
        if (found.blocks[i] != 0)
            text += std::string(found.typed[i] ? " As blocks_of says," : " So") +
                    " the odds are reckoned twice, with each delay drawn alone and with blocks of " +
                    std::to_string(found.blocks[i]) +
                    " telegrams that keep the order in which they were measured (as if one had been measured in each "
                    "cycle), and the worse of both decides.";
        words.push_back(std::move(text));
    }
    return words;
}

}  // namespace sim
