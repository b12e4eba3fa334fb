#include "tools/text/distance_words.hpp"

#include "sim/scenario/scenario.hpp"

namespace tools {
namespace {

std::string case_text(const sim::DistanceCase& how) {
    std::string text =
        "ISO 13855:" + std::string(sim::name_of(how.edition)) + ", " + std::string(sim::name_of(how.approach));
    if (how.resolution_um) text += ", " + sim::written(sim::micrometres(*how.resolution_um));
    if (how.height_um) text += ", height " + sim::written(sim::micrometres(*how.height_um));
    return text;
}

}  // namespace

std::optional<sim::Length> guard_there(const sim::Scenario& scenario) {
    if (!scenario.distance || !scenario.distance->there_um) return std::nullopt;
    return sim::micrometres(*scenario.distance->there_um);
}

std::string distance_line(const sim::Scenario& scenario, const sim::Distance& distance) {
    std::string text =
        std::to_string(sim::whole_mm_up(distance.needed)) + " mm needed (" + case_text(scenario.distance->how) + ")";
    const auto there = guard_there(scenario);
    if (!there) return text + "; how far the guard stands is not stated";
    const sim::Length spare = *there - distance.needed;
    text += ", " + sim::written(*there) + " there: ";
    if (spare.pm >= 0) return text + std::to_string(spare.pm / 1'000'000'000) + " mm to spare";
    return text + std::to_string(sim::whole_mm_up({-spare.pm})) + " mm TOO NEAR";
}

}  // namespace tools
