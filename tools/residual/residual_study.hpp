#pragma once
// What `residual` finds out about one telegram, ready to be printed.
#include <optional>
#include <string>
#include <vector>

#include "proto/crc.hpp"
#include "proto/profile.hpp"
#include "sim/integrity/integrity_methods.hpp"
#include "sim/integrity/residual_error.hpp"
#include "tools/residual/weights_cache.hpp"

namespace tools {

/// A telegram as far as wrong bits are concerned.
struct ResidualSubject {
    std::string name;  ///< of the CRC, or the profile's; never empty
    sim::Generator generator;
    unsigned data_bits = 0;  ///< of one copy, that are transmitted and covered by the CRC
    unsigned copies = 1;
    /// How many numbers a receiver tries where the number is implied, else 1: each is one more chance.
    unsigned tries = 1;
    std::vector<std::string> notes;  ///< what the figures leave out or add, in words
};

struct ResidualRow {
    double rate = 0;
    std::optional<sim::ScaledReal> exact;
    sim::ScaledReal at_least, at_most;  ///< both the exact value where there is one
    sim::ScaledReal customary;
};

struct ResidualStudy {
    ResidualSubject subject;
    bool exact = true;  ///< else only bounds are known
    unsigned hd = 0;    ///< Hamming distance; if hd_is_bound at least that
    bool hd_is_bound = false;
    struct Weight {
        unsigned bits;
        std::string count;
    };
    std::vector<Weight> weights;  ///< all of them from 1 up to some
    std::vector<ResidualRow> rows;
    ResidualRow at_rate;  ///< at the bit error rate that was asked for
    std::optional<sim::AtRate> maximum, maximum_of_the_wrong, worst_of_customary;
    std::optional<bool> proper;
    std::vector<sim::MethodResult> methods;
};

/// That fit at a time, where nobody says otherwise.
inline constexpr unsigned usual_numbers_accepted = 2;

struct ResidualQuestion {
    double bit_error_rate = 1e-2;
    sim::MethodInput methods;  ///< without what the study finds
};

/// The limits of weights and lengths must have been looked at before.
ResidualStudy study_residual(const ResidualSubject& subject, const ResidualQuestion& question, WeightsCache& cache,
                             const sim::Effort& effort);

/// A profile's telegram with a payload of `payload_bytes`, which can be laid out.
ResidualSubject subject_of(const proto::Profile& profile, unsigned payload_bytes, unsigned numbers_accepted);

/// Most data bits beside a CRC of that width in a telegram of that many copies.
unsigned data_bits_max(unsigned width, unsigned copies);

}  // namespace tools
