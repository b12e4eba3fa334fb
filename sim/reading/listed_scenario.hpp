#pragma once
// A scenario whose ends are typed as two lists say, one exported from each end's tool. The file says what was meant and
// what is around the link.
#include <array>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/setting_list.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Why two lists do not show that the ends agree.
struct ListFinding {
    enum class Kind : std::uint8_t {
        not_understood,  ///< a line whose word is no setting
        twice,           ///< the same setting twice, with different values
        one_end_only,    ///< a setting that the other list has not
        missing,         ///< in neither list, and nothing agrees without it
    };
    Kind kind = Kind::not_understood;
    std::string file;  ///< of the list
    int line = 0;      ///< 0: about no line
    std::string word;  ///< of the list, or our setting
    std::string message;
};

struct ListedScenario {
    Scenario scenario;
    std::vector<ListFinding> findings;  ///< none: all that must agree stands in both lists
};

/// By End: the file with that end's settings.
using ListFiles = std::array<std::string, 2>;

/// Reads the scenario with what the lists say in place of what it types at the two ends; what neither list names is as
/// in its [link]. `map`: empty, or the file with their words. Of one link only. What is wrong with a value is told with
/// the list's line.
proto::Result<ListedScenario, FileError> read_listed_scenario(const std::string& path, const ListFiles& lists,
                                                              const std::string& map);

}  // namespace sim
