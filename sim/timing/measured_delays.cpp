#include "sim/timing/measured_delays.hpp"

#include "sim/scenario/channel.hpp"

namespace sim {

std::vector<std::string> about_captured(const DelayShape& delay) {
    std::vector<std::string> about;
    const std::string of_all = " of " + std::to_string(delay.samples);
    if (delay.with_device == delay.samples && delay.samples != 0)
        about.emplace_back(
            "hold what the device waits for its scan, which is added once more here: what comes of them is too "
            "pessimistic, not too good; write at_device or subtract beside capture");
    else if (delay.with_device != 0)
        about.push_back("are not all found in the capture at the device: " + std::to_string(delay.with_device) +
                        of_all + " hold what it waits for its scan and are too long, not too short");
    if (delay.under_subtracted != 0)
        about.push_back("were taken for 0 where a round trip is shorter than subtract, " +
                        std::to_string(delay.under_subtracted) + of_all +
                        " times: the device takes less than that, and what comes of them is too good; write less");
    return about;
}

}  // namespace sim
