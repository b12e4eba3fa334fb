#include "tools/residual/cell_residual.hpp"

#include <algorithm>
#include <map>

#include "sim/timing/cell_ways.hpp"
#include "tools/residual/residual_words.hpp"

namespace tools {
namespace {

bool has_bounds_only(const LinkResidual& link) {
    return std::any_of(link.ways.begin(), link.ways.end(), [](const WayResidual& way) { return !way.study.exact; });
}

void add_up(const sim::WholeCell& cell, FunctionResidual& function) {
    bool bounds = false;
    for (const CrossedLink& link : function.links) bounds = bounds || has_bounds_only(link.found);
    for (std::size_t m = 0; m < function.links.front().found.methods.size(); ++m) {
        std::vector<std::pair<std::string, sim::MethodResult>> rates;
        for (const CrossedLink& link : function.links)
            rates.emplace_back(cell.links[link.link].name, link.found.methods[m]);
        function.methods.push_back(added_over_links(rates, bounds));
    }
}

/// Each link once for each level: what is taken for the time between two errors depends on it.
class LinksByLevel {
  public:
    LinksByLevel(const sim::WholeCell& cell, const ResidualQuestion& question, WeightsCache& cache,
                 const sim::Effort& effort)
        : cell_(cell), question_(question), cache_(cache), effort_(effort) {}

    const LinkResidual& at(std::size_t link, const sim::FunctionLevel& level) {
        const auto [found, is_new] = known_.try_emplace({link, level.sil()});
        if (is_new) {
            sim::Scenario asked = cell_.links[link].alone;
            asked.functions.assign(1, sim::SafetyFunction{});
            asked.functions.front().level = level;
            found->second = residual_of_link(asked, question_, cache_, effort_);
        }
        return found->second;
    }

  private:
    const sim::WholeCell& cell_;
    const ResidualQuestion& question_;
    WeightsCache& cache_;
    const sim::Effort& effort_;
    std::map<std::pair<std::size_t, unsigned>, LinkResidual> known_;
};

}  // namespace

const sim::MethodResult* FunctionResidual::highest(const std::string& method) const {
    const sim::MethodResult* found = nullptr;
    for (const sim::MethodResult& one : methods) {
        if (!one.rate_per_hour || (!method.empty() && one.name != method)) continue;
        if (found == nullptr || *one.rate_per_hour > *found->rate_per_hour) found = &one;
    }
    return found;
}

bool CellResidual::met() const {
    return !functions.empty() && std::all_of(functions.begin(), functions.end(), [](const FunctionResidual& one) {
        return one.verdict == LevelVerdict::met;
    });
}

namespace {

/// What demands of that guard cross on their way to the machines that the function asks something of.
std::vector<bool> crossed_by(const sim::WholeCell& cell, const sim::SafetyFunction& function,
                             const std::string& guard) {
    std::vector<bool> crossed(cell.links.size());
    for (const sim::MustReact& must : function.must)
        for (std::size_t i = 0; i < cell.links.size(); ++i) {
            const std::optional<sim::Machine>& machine = cell.links[i].alone.machine;
            if (!machine || (!must.machine.empty() && machine->name != must.machine)) continue;
            for (const sim::WayOverLink& way : sim::way_over_links(cell, i, guard)) crossed[way.link] = true;
        }
    return crossed;
}

unsigned lowest_claim(const sim::WholeCell& cell, const std::vector<std::size_t>& links) {
    unsigned lowest = 4;
    for (const std::size_t link : links) {
        const sim::Scenario& alone = cell.links[link].alone;
        lowest = std::min({lowest, alone.controller.link.claimed_level, alone.device.link.claimed_level});
    }
    return lowest;
}

std::string why_not_shown(const std::vector<std::string>& guards) {
    std::string names;
    for (const std::string& guard : guards) names += (names.empty() ? "" : ", ") + guard;
    return "demands of " + names + " cross no link to a machine that must react, so nothing shows that they arrive";
}

}  // namespace

std::vector<std::size_t> links_of_function(const sim::WholeCell& cell, const sim::SafetyFunction& function) {
    std::vector<bool> crossed(cell.links.size());
    for (const std::string& guard : function.safeguards) {
        const std::vector<bool> by_guard = crossed_by(cell, function, guard);
        for (std::size_t i = 0; i < crossed.size(); ++i) crossed[i] = crossed[i] || by_guard[i];
    }
    std::vector<std::size_t> links;
    for (std::size_t i = 0; i < crossed.size(); ++i)
        if (crossed[i]) links.push_back(i);
    return links;
}

std::vector<std::string> guards_without_way(const sim::WholeCell& cell, const sim::SafetyFunction& function) {
    std::vector<std::string> guards;
    for (const std::string& guard : function.safeguards) {
        const std::vector<bool> crossed = crossed_by(cell, function, guard);
        if (std::find(crossed.begin(), crossed.end(), true) == crossed.end()) guards.push_back(guard);
    }
    return guards;
}

sim::MethodResult added_over_links(const std::vector<std::pair<std::string, sim::MethodResult>>& links, bool bounds) {
    const auto without =
        std::find_if(links.begin(), links.end(), [](const auto& link) { return !link.second.rate_per_hour; });
    sim::MethodResult sum = without != links.end() ? without->second : links.front().second;
    double rate = 0;
    std::string terms;
    for (const auto& [name, one] : links) {
        rate += one.rate_per_hour.value_or(0);
        terms += (terms.empty() ? "" : " + ") + scientific(one.rate_per_hour.value_or(0)) + " on " + name;
    }
    sum.met.reset();
    if (without != links.end()) return sum;
    sum.rate_per_hour = rate;
    sum.why = terms;
    if (rate < *sum.share_per_hour)
        sum.met = true;
    else if (!bounds)
        sum.met = false;
    else
        sum.why += "; upper bounds, which decide nothing here";
    return sum;
}

CellResidual residual_of_cell(const sim::WholeCell& cell, const ResidualQuestion& question, const std::string& method,
                              WeightsCache& cache, const sim::Effort& effort) {
    CellResidual found{cell, {}, method, question.bit_error_rate};
    LinksByLevel links(cell, question, cache, effort);
    for (std::size_t f = 0; f < cell.functions.size(); ++f) {
        const sim::SafetyFunction& asked = cell.functions[f];
        FunctionResidual function;
        function.function = f;
        if (asked.level) function.level = written(*asked.level);
        const std::vector<std::size_t> crossed = links_of_function(cell, asked);
        const std::vector<std::string> lost = guards_without_way(cell, asked);
        if (asked.level) function.sil = asked.level->sil();
        if (function.sil == 0 && !crossed.empty()) {
            // as for one link, which is held against its own claim then
            function.by_claim = true;
            function.sil = lowest_claim(cell, crossed);
        }
        const sim::FunctionLevel level{sim::FunctionLevel::Scale::sil, function.sil};
        for (const std::size_t link : crossed) function.links.push_back({link, links.at(link, level)});
        if (!function.links.empty()) {
            add_up(cell, function);
            function.verdict = verdict_of(function.methods, method);
        }
        if (crossed.empty() || !lost.empty()) {
            function.verdict = LevelVerdict::not_met;
            function.why = crossed.empty() ? "its demands cross no link" : why_not_shown(lost);
        }
        found.functions.push_back(std::move(function));
    }
    return found;
}

}  // namespace tools
