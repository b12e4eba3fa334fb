#pragma once
// Compares the two ends of a scenario as typed, before anything runs: what differs, what each end would show, where to
// mend it, and what no measure of the link can see.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/reach.hpp"

namespace sim {

struct Scenario;

struct Difference {
    std::string setting;     ///< plain name: "watchdog", "byte 0, bits 2 and 3"
    std::string controller;  ///< value there
    std::string device;
    std::string seen_at_controller;  ///< what that end shows if this alone differs
    std::string seen_at_device;
    std::string mend;  ///< "name of the end: value to type"
};

/// One setting on which the ends must agree, whether they do or not.
struct ComparedSetting {
    std::string setting;
    std::string controller;
    std::string device;
    std::string seen_at_controller;  ///< what that end shows if this alone differs; of a pattern where it does not
    std::string seen_at_device;
    [[nodiscard]] bool same() const { return controller == device; }
};

struct CrossCheck {
    std::uint64_t compared = 0;              ///< settings on which the ends must agree
    std::vector<ComparedSetting> settings;   ///< each of them, in the order in which they are compared
    std::vector<Difference> differences;     ///< in the order in which the link would refuse them, unseen ones last
    std::optional<std::uint32_t> signature;  ///< of the parameters, to be found at both ends; nothing if they differ
    std::vector<std::string> problems;       ///< what keeps the link from doing its task, though the ends may agree
    std::vector<std::string> undetectable;   ///< errors that no measure of this link sees, in words
    std::vector<std::string> cautions;       ///< what a person should know
    std::optional<KeptApart> apart = {};     ///< why no telegram of one end reaches the other; among the problems too
    std::vector<std::string> not_compared = {};  ///< what one end alone states of network or module, in words

    [[nodiscard]] bool ok() const { return differences.empty() && problems.empty(); }
};

/// Requires a scenario as read_scenario() gives it.
CrossCheck cross_check(const Scenario& scenario);

}  // namespace sim
