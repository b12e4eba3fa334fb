// Any text as a file with several links beside the shipped ones: refused in one line, or checked, with limits and
// responses for each link, and rehearsed if it is short. What a rehearsal says does not depend on who listens.
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/reading/all_problems.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_check.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

bool is_short(const sim::WholeCell& cell) {
    constexpr std::int64_t scans_most = 200;
    std::int64_t scans = 0;
    for (const sim::CellLink& link : cell.links)
        scans += cell.duration.ns /
                 std::max<std::int64_t>(std::min(link.alone.controller.link.cycle, link.alone.device.link.scan).ns, 1);
    return scans <= scans_most;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string path = fuzz::source("scenarios/glass_line/any.toml");
    const std::string text = fuzz::text_of(data, size);
    const auto read = sim::cell_in(text, path);
    if (!read) {
        fuzz::expect_one_line(read.error().one_line());
        return 0;
    }
    const sim::WholeCell& cell = read.value();
    for (const sim::CrossCheck& ends : sim::check_cell(cell).ends)
        if (ends.ok() && !ends.signature) fuzz::broken("ends that agree have no signature");
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::ResponseTime response = sim::response_of(cell.links[i].alone);
        if (response.apart && *response.response < *response.apart) fuzz::broken("one link disturbed takes longer");
        if (sim::decisive_view(cell, i).cell_link != cell.links[i].name) fuzz::broken("a view of another link");
    }
    if (!is_short(cell)) return 0;
    std::vector<sim::TimeLine> lines;
    lines.reserve(cell.links.size());
    std::vector<sim::Witnesses> witnesses;
    for (const sim::CellLink& link : cell.links) {
        lines.emplace_back(link.alone);
        witnesses.push_back({nullptr, &lines.back()});
    }
    const sim::CellResult watched = sim::rehearse_cell(cell, cell.seed, witnesses);
    if (watched.digest != sim::rehearse_cell(cell, cell.seed).digest)
        fuzz::broken("a rehearsal that is watched is another");
    return 0;
}
