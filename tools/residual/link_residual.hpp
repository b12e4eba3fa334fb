#pragma once
// The residual error rate of a scenario's link, both receivers of it, against 1 % of what the tightest function's level
// allows.
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "tools/residual/residual_study.hpp"
#include "tools/residual/residual_verdict.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

inline constexpr const char* left_out_of_residual =
    "links only; sensor, logic, drive and categories are not added up here";
inline constexpr const char* share_source =
    "1 % of the upper end of the level's band (IEC 61508-1), which IEC 61784-3 leaves to a link (from memory)";

/// One way of the link, as its receiver sees it.
struct WayResidual {
    sim::Direction way = sim::Direction::to_device;
    std::string receiver;  ///< the end's name
    double telegrams_per_hour = 0;
    ResidualStudy study;
};

struct LinkResidual {
    std::string function;  ///< of the functions over the link the one with the highest level; empty: the link's claim
    std::string level;     ///< as typed: "PL d"
    unsigned sil = 1;      ///< that goes with it, 1 to 4
    std::vector<WayResidual> ways;
    std::vector<sim::MethodResult> methods;  ///< the rates of all receivers added up, in the order of a study's methods
};

/// The highest level that a function over the link asks for, as its index; nothing if none asks for one that has a SIL
/// (PL a has none).
std::optional<std::size_t> function_with_highest_level(const sim::Scenario& scenario);

/// By the level of that function, else by the lower claim of the two ends. `question`: what the scenario does not say;
/// its telegrams per hour, receivers, level and fields come from the scenario, and with `reaction = "discard"` the time
/// between two errors too, where it was not asked for. Both profiles have a CRC and can be laid out, as the reader of
/// scenarios makes sure.
LinkResidual residual_of_link(const sim::Scenario& scenario, ResidualQuestion question, WeightsCache& cache,
                              const sim::Effort& effort);

/// Names of the methods whose sum keeps the share, or does not; empty if there is none.
std::string methods_in_words(const LinkResidual& found, bool kept);

Value describe(const LinkResidual& found);
/// A line a method, and what the figures leave out.
void residual_lines(Page& page, const LinkResidual& found);

/// The page of `residual` on a scenario.
Page page_of(const std::string& title, const LinkResidual& found, LevelVerdict verdict, Columns columns);

/// What the newer method wants to know of a profile's fields, where it is not known yet.
void take_fields(const proto::Profile& profile, sim::MethodInput& methods);

}  // namespace tools
