#pragma once
// What a reader of odds must know about the channel behind them.
#include <string>
#include <vector>

namespace sim {

struct Scenario;

/// Nothing varies, loses or bends anything in the channel as it is described, both ways: figures from it are best
/// cases.
bool is_ideal(const Scenario& scenario);

/// What a reader must know about the channel behind the figures; one sentence each, that about an
/// ideal one first.
std::vector<std::string> cautions_about(const Scenario& scenario);

}  // namespace sim
