#pragma once
// What an exact chain says about one setting of a link.
#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

namespace sim {

/// Why a link stops for nothing.
enum class StopCause : std::uint8_t {
    controller_watchdog,  ///< no answer accepted in time
    device_watchdog,      ///< no new telegram accepted in time
    bent_to_device,       ///< flipped bits: a telegram was rejected at the device
    bent_to_controller,
    missing_to_device,  ///< streaming: more numbers missing in a row than allowed
    missing_to_controller,
    order_to_device,  ///< overtaken telegrams: a number that does not fit
    order_to_controller,
    age_to_device,  ///< older than accepted, by its time stamp or by the number that it feeds back
    age_to_controller,
};
inline constexpr std::size_t stop_cause_count = 10;
/// "watchdog of the controller" ...
std::string_view name_of(StopCause cause);

struct ChainOdds {
    std::array<double, stop_cause_count> stops{};  ///< per cycle of a running link, by cause
    double undecided = 0.0;       ///< mass per cycle that was not followed further: each could be a stop, or none
    double exchanges = 0.0;       ///< completed, per cycle
    double bent_to_device = 0.0;  ///< telegrams rejected for flipped bits per cycle
    double bent_to_controller = 0.0;
    double spread = 0.0;       ///< relative change over the last stretch of cycles: how far from settled
    double least = 0.0;        ///< of all stops, per cycle: from the start that does best, what is not settled included
    double most = 0.0;         ///< from the start that does worst; what is undecided comes on top
    std::uint64_t one_in = 1;  ///< of blocks without a late time only every so many-th was followed, for all of them
    bool fits = true;          ///< false: more states or longer times than the chain is made for
    std::size_t states = 0;    ///< most at once
    std::uint64_t cycles = 0;  ///< followed

    [[nodiscard]] double total() const {
        double sum = 0.0;
        for (const double one : stops) sum += one;
        return sum;
    }
};

}  // namespace sim
