#pragma once
// What one part of a live link saw, as a text file that grows while it runs: the parts' files in one folder are joined
// into one result. Its first lines say of what it is: "linkdrill part 4", then a line each with the part, seed,
// times-slower, contents (the fingerprint of the scenario), scenario (its title) and, of a cell, link (its name): such
// a file is of one link, and a part that carries several writes as many. Then one of fixed width that is written over,
// "alive AT scans N": the last sign of life (ns of the run), and the scans until then.
// clang-format off
//   Then blocks, each ended by a line "." and written at once, of these lines:
//     b WALL CLOCK BOOT                the run begins: ns since 1970, ns of the steady clock, which start of the computer
//     s KIND PORT xHOST                three times, after b: controller, channel, device
//     a FROM UNTIL                     the part was away
//     e KIND PLACE AT A B C            an event, see part_row
//     l NS                             how late something was
//     t xBYTES                         telegrams of the channel, in the order of the events
//     z SCANS STATE REFUSAL COUNTERS   the part's run is over
//   and "whole" after the last block.
// clang-format on
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "sim/drive/join.hpp"

namespace tools {

/// What must be the same for parts that belong to one run.
struct PartOf {
    std::string scenario;  ///< title
    std::string contents;  ///< its fingerprint
    std::uint64_t seed = 0;
    std::int64_t time_scale = 1;
    std::string link = {};   ///< of a cell: its name
    std::size_t number = 0;  ///< of that link in the file, from 1; 0: there is only one
    friend bool operator==(const PartOf&, const PartOf&) = default;
};

/// What a file holds so far.
struct PartSoFar {
    sim::PartRecord record;
    bool begun = false;
    proto::Instant alive{};  ///< the last sign of life
    std::size_t bytes = 0;   ///< up to the end of the last block
    bool whole = false;
};

/// "part-controller.txt"; of a cell's second link "part-controller-2.txt".
std::string part_file_name(sim::Part part, std::size_t number = 0);

/// The lines before the first block.
std::string part_head(const PartOf& of, sim::Part part);
/// The line of life, always of one length, and where it stands.
std::string part_alive(proto::Instant at, std::uint64_t scans);
std::size_t part_alive_place(const PartOf& of, sim::Part part);

/// Blocks.
std::string begin_block(const sim::PartRecord& record);
std::string news_block(const sim::PartRecord& record);
std::string end_block(const sim::PartRecord& record);

/// The whole of a record that was not kept while it came about.
std::string part_text(const PartOf& of, sim::Part part, const sim::PartRecord& record);

/// Nothing if `text` is no record of that part of that run of that scenario, or a damaged one.
std::optional<PartSoFar> part_so_far(std::string_view text, const PartOf& of, const sim::Scenario& scenario,
                                     sim::Part part);
/// The same of a run that is over.
std::optional<sim::PartRecord> part_from(std::string_view text, const PartOf& of, const sim::Scenario& scenario,
                                         sim::Part part);

}  // namespace tools
