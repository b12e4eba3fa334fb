#include "sim/integrity/integrity_methods.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "proto/contract.hpp"

namespace sim {
namespace {

std::string shown(double value) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.3g", value);
    return text.data();
}

double half_to_the(unsigned bits) { return std::ldexp(1.0, -static_cast<int>(bits)); }

double tried(const MethodInput& input) { return input.residual * input.tries; }

std::string tries_of(const MethodInput& input) {
    return input.tries == 1 ? "" : " * " + std::to_string(input.tries) + " tries";
}

void judge(MethodResult& result, const MethodInput& input) {
    if (!input.level) return;
    result.share_per_hour = share_of_level(*input.level);
    if (result.rate_per_hour) result.met = *result.rate_per_hour < *result.share_per_hour;
}

MethodResult older(const MethodInput& input) {
    MethodResult out;
    out.name = "older";
    out.source = "IEC 61784-3:2010";
    out.confidence = "from memory";
    if (input.telegrams_per_hour) {
        out.rate_per_hour = tried(input) * *input.telegrams_per_hour * input.receivers;
        out.why = "R * v * m = " + shown(input.residual) + tries_of(input) + " * " + shown(*input.telegrams_per_hour) +
                  "/h * " + std::to_string(input.receivers);
    } else {
        out.why = "no rate without --telegrams-per-hour";
    }
    judge(out, input);
    return out;
}

/// What a field alone lets through. An implied field has no bits of its own: a wrong value changes the CRC, and each
/// number tried is one more chance that the change goes unseen.
double let_through(const FieldStrength& field, const MethodInput& input, unsigned tries) {
    switch (field.kind) {
        case FieldStrength::Kind::absent: return 1;
        case FieldStrength::Kind::carried: return std::min(1.0, tries * half_to_the(field.bits));
        case FieldStrength::Kind::implied: return std::min(1.0, tries * half_to_the(input.width));
    }
    return 1;
}

MethodResult newer(const MethodInput& input) {
    MethodResult out;
    out.name = "newer";
    out.source = "IEC 61784-3, later editions";
    out.confidence = "from memory, medium confidence: every factor is an option";
    if (!input.telegrams_per_hour || !input.address || !input.number) {
        out.why = !input.telegrams_per_hour ? "no rate without --telegrams-per-hour"
                                            : "no rate without a profile, or --address-bits and --number-bits";
        judge(out, input);
        return out;
    }
    using Kind = FieldStrength::Kind;
    const bool number_implied = input.number->kind == Kind::implied;
    const unsigned tries = number_implied ? input.numbers_accepted : 1;
    const double integrity = tried(input) * *input.telegrams_per_hour;
    const double authenticity = let_through(*input.address, input, input.address->kind == Kind::implied ? tries : 1) *
                                input.wrong_address_per_hour;
    const double timeliness = let_through(*input.number, input, input.numbers_accepted) * input.wrong_time_per_hour;
    // 2^-width stands once for the CRC and all that is implied: those factors never multiply
    double masquerade = half_to_the(input.width) * tries * input.masquerade_per_hour;
    if (input.address->kind == Kind::carried) masquerade *= let_through(*input.address, input, 1);
    if (input.number->kind == Kind::carried) masquerade *= let_through(*input.number, input, input.numbers_accepted);
    out.rate_per_hour = (integrity + authenticity + timeliness + masquerade) * input.receivers;
    out.why = "integrity " + shown(integrity) + " + authenticity " + shown(authenticity) + " + timeliness " +
              shown(timeliness) + " + masquerade " + shown(masquerade) + " an hour, * " +
              std::to_string(input.receivers);
    judge(out, input);
    return out;
}

MethodResult rate_limit(const MethodInput& input) {
    MethodResult out;
    out.name = "rate limit";
    out.source = "IEC 62541-15, 9.3 and 9.4";
    out.confidence = "published";
    const std::optional<double> minutes = input.minutes_between_errors ? input.minutes_between_errors
                                          : input.level ? std::optional(minutes_between_errors_of(*input.level))
                                                        : std::nullopt;
    if (!input.worst_share) {
        out.why = "no rate: the largest share over all bit error rates is not known for this width";
    } else if (!minutes) {
        out.why = "no rate without --sil or --minutes-between-errors";
    } else {
        out.rate_per_hour = *input.worst_share * input.tries * 60 / *minutes * input.receivers;
        out.why = "at most " + shown(*input.worst_share) + tries_of(input) +
                  " of the wrong telegrams, one wrong one in " + shown(*minutes) + " min, * " +
                  std::to_string(input.receivers) + "; holds only if a second one within that time stops the link";
    }
    judge(out, input);
    return out;
}

}  // namespace

double share_of_level(unsigned level) {
    static constexpr std::array<double, 4> shares{1e-7, 1e-8, 1e-9, 1e-10};
    proto::require(level >= 1 && level <= 4, "share_of_level: levels are 1 to 4");
    return shares[level - 1];
}

unsigned level_for(double rate_per_hour) {
    unsigned level = 0;
    while (level < 4 && rate_per_hour < share_of_level(level + 1)) ++level;
    return level;
}

double minutes_between_errors_of(unsigned level) {
    static constexpr std::array<double, 4> minutes{6, 6, 60, 600};
    proto::require(level >= 1 && level <= 4, "minutes_between_errors_of: levels are 1 to 4");
    return minutes[level - 1];
}

std::vector<MethodResult> judged_by_methods(const MethodInput& input) {
    return {older(input), newer(input), rate_limit(input)};
}

}  // namespace sim
