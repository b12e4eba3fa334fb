#pragma once
// What one part of a live link saw, as a text file: the parts' files in one folder are joined into one result.
#include <cstdint>
#include <optional>
#include <string>

#include "sim/drive/join.hpp"

namespace tools {

/// What must be the same for parts that belong to one run.
struct PartOf {
    std::string scenario;  ///< title
    std::uint64_t seed = 0;
    std::int64_t time_scale = 1;
    friend bool operator==(const PartOf&, const PartOf&) = default;
};

/// "part-controller.txt"
std::string part_file_name(sim::Part part);
std::string part_text(const PartOf& of, sim::Part part, const sim::PartRecord& record);
/// Nothing if `text` is not the whole record of that part of that run of that scenario.
std::optional<sim::PartRecord> part_from(const std::string& text, const PartOf& of, const sim::Scenario& scenario,
                                         sim::Part part);

}  // namespace tools
