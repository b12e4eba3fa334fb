#pragma once
// From the residual error probability of one telegram to the rate at which a safety function is deceived, by the
// methods that standards give, against the share that the claimed safety integrity level leaves to communication.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sim {

/// Dangerous failures an hour that communication may add: 1 % of the upper end of the level's band (IEC 61508-1 for
/// levels 1..4: 1e-5, 1e-6, 1e-7, 1e-8 an hour). Requires 1 <= level <= 4.
double share_of_level(unsigned level);
/// The highest level whose share is above `rate_per_hour`, 0 if none.
unsigned level_for(double rate_per_hour);

/// What a wrong telegram must still get past, for errors other than wrong bits.
struct FieldStrength {
    enum class Kind {
        absent,   ///< nothing looks at it
        carried,  ///< a random value fits with probability 2^-bits
        implied,  ///< only the CRC tells: a wrong one fits with 2^-width, whatever its own bits
    };
    Kind kind = Kind::absent;
    unsigned bits = 0;
};

struct MethodInput {
    unsigned width = 32;                       ///< of the CRC
    std::optional<unsigned> level;             ///< claimed
    std::optional<double> telegrams_per_hour;  ///< that one receiver looks at
    unsigned receivers = 1;                    ///< of one safety function

    double residual = 0;                ///< R at the bit error rate assumed
    unsigned tries = 1;                 ///< numbers that a receiver tries on one telegram: each multiplies R
    std::optional<double> worst_share;  ///< of wrong telegrams that go unseen, over all bit error rates

    // newer method
    std::optional<FieldStrength> address, number;  ///< nothing: not known
    unsigned numbers_accepted = 1;                 ///< w: how many numbers fit at a time
    double wrong_address_per_hour = 1e-3;          ///< R_A
    double wrong_time_per_hour = 1e-3;             ///< R_T
    double masquerade_per_hour = 1e-3;             ///< R_M

    // rate-limit method
    std::optional<double> minutes_between_errors;  ///< nothing: what goes with the level
};

struct MethodResult {
    std::string name, source, confidence;
    std::optional<double> rate_per_hour, share_per_hour;
    std::optional<bool> met;
    std::string why;  ///< how the rate comes about, or why there is none
};

/// Older, newer and rate-limit method, in this order.
std::vector<MethodResult> judged_by_methods(const MethodInput& input);

/// 6, 6, 60 or 600 minutes for levels 1..4.
double minutes_between_errors_of(unsigned level);

}  // namespace sim
