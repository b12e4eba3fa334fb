#pragma once
#include <string>

#include "sim/drive/endurance.hpp"
#include "sim/numeric/poisson_interval.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

enum class EnduranceVerdict : std::uint8_t {
    pass,
    undecided,    ///< within the limit so far, but too few years to say so with confidence
    fail,         ///< over the limit
    not_running,  ///< the link never ran
    dangerous,
    stopped,  ///< by Ctrl-C before anything was finished
};

/// Simulated years and what they are judged by.
struct EnduranceFinding {
    /// The channel loses, bends and delays nothing: the rate is 0, and no number of years can tell more.
    [[nodiscard]] bool nothing_can_happen() const {
        return outlook.method == sim::EnduranceMethod::jumps && !(outlook.strange_per_period > 0.0);
    }

    const sim::Scenario& scenario;
    const sim::EnduranceResult& result;
    sim::EnduranceOutlook outlook;
    std::uint64_t seed = 0;
    double years_wanted = 0.0;
    double years = 0.0;  ///< simulated
    double per_year = 0.0;
    sim::Interval interval;  ///< of the same, 95 %
    /// By the time in which the link ran: the same unless it stood for long, and what the limit is compared with.
    double per_running_year = 0.0;
    sim::Interval running_interval;
    EnduranceVerdict verdict = EnduranceVerdict::pass;
};
EnduranceFinding finding_of(const sim::Scenario& scenario, const sim::EnduranceResult& result,
                            const sim::EnduranceOutlook& outlook, std::uint64_t seed, double years_wanted);

struct VerdictWord {
    const char* word;
    Hue hue;
};
VerdictWord word_for(EnduranceVerdict verdict);

/// For people: verdict, rate beside its limit, where the stops began, what was rejected, how it was simulated.
Page page_of(const EnduranceFinding& finding, Columns columns);
Value describe(const EnduranceFinding& found);

}  // namespace tools
