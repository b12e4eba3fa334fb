#include "tools/run/live_files.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

#include "tools/text/text.hpp"

namespace tools {

EvidenceFile delay_file(const std::string& name, const sim::RunResult& result) {
    std::string text = "round_trip_ms,scan_wait_ms\n";
    for (const sim::LiveRoundTrip& trip : result.round_trips)
        text += exact_ms(trip.line) + "," + exact_ms(trip.scan_wait) + "\n";
    return {name, text};
}

EvidenceFile lateness_file(const sim::Lateness& lateness) {
    // a histogram in steps of a factor of two
    std::string text = "up_to_ms,scans\n";
    std::size_t counted = 0;
    for (std::int64_t up_to = 15'625; counted < lateness.sorted_ns.size(); up_to *= 2) {
        const auto& sorted = lateness.sorted_ns;
        const auto end = std::upper_bound(sorted.begin(), sorted.end(), up_to);
        const auto until = static_cast<std::size_t>(end - sorted.begin());
        std::array<char, 48> line{};
        std::snprintf(line.data(), line.size(), "%.6f,%zu\n", static_cast<double>(up_to) / 1e6, until - counted);
        text += line.data();
        counted = until;
    }
    return {"lateness.csv", text};
}

}  // namespace tools
