#pragma once
// The matrix of errors and measures, for people and for programs.
#include <cstdint>
#include <string>
#include <string_view>

#include "sim/measures/cells.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct MeasuresFinding {
    sim::MeasuresFound found;
    std::string file;     ///< of the profile; empty: each measure alone
    std::string profile;  ///< its name
    std::uint64_t seed = 1;
    unsigned trials = 0;

    [[nodiscard]] bool as_it_should_be() const { return found.sound && found.explained(); }
};

/// "none", "some", "all".
std::string_view caught_of(unsigned detected, unsigned trials);
/// "polled", "streaming".
std::string_view word_for(proto::Exchange exchange);

Value describe(const MeasuresFinding& finding);
Page page_of(const MeasuresFinding& finding, Columns columns);

}  // namespace tools
