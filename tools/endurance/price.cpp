#include "tools/endurance/price.hpp"

#include <chrono>

#include "sim/drive/endurance.hpp"
#include "sim/scenario/scenario.hpp"

namespace tools {
namespace {

struct Unwatched final : sim::EnduranceMonitor {
    bool go_on(double) override { return true; }
};

}  // namespace

double measured_seconds_per_year(const sim::Scenario& scenario, const sim::EnduranceOutlook& outlook,
                                 std::uint64_t seed) {
    using Clock = std::chrono::steady_clock;
    constexpr double enough = 0.1;  // the last piece takes up to four times as long
    constexpr double seconds_per_year = 365.25 * 86400.0;
    constexpr sim::Duration longest = proto::seconds(50LL * 365 * 86400);
    for (sim::Duration lasting = proto::seconds(60);; lasting = lasting * 4) {
        Unwatched nobody;
        const auto begun = Clock::now();
        static_cast<void>(sim::endure({scenario, seed, {1, lasting}, outlook.method, 1}, nobody));
        const double spent = std::chrono::duration<double>(Clock::now() - begun).count();
        const double years = static_cast<double>(lasting.ns) * 1e-9 / seconds_per_year;
        if (spent >= enough || lasting > longest) return spent / years;
    }
}

}  // namespace tools
