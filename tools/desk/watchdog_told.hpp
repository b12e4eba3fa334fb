#pragma once
// Points of a watchdog's curve as the page draws them, with the parts of the response that each brings.
#include <cstddef>
#include <string>
#include <vector>

#include "tools/text/value.hpp"

namespace tools {

class TypedPlant;

struct WatchdogAnswers {
    const Value* first = nullptr;  ///< the command's document with its own points
    const Value* more = nullptr;   ///< the same with points between; nullptr: not there yet
    bool reckons = false;
};
/// One of "watchdogs". `agree`: the ends do; else no point is told to be usable.
Value watchdog_told(const TypedPlant& typed, std::size_t link, const WatchdogAnswers& answers, bool agree);

/// The longest and the shortest watchdog of that document's table and a step for some fifty points between, as the
/// command's options; none where nothing lies between.
std::vector<std::string> options_between(const Value& document);

}  // namespace tools
