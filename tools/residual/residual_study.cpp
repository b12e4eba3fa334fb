#include "tools/residual/residual_study.hpp"

#include <algorithm>
#include <array>

#include "sim/integrity/implied_aliases.hpp"
#include "sim/scenario/units.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using proto::Presence;

constexpr unsigned weights_shown = 16;  ///< besides, as many as it takes to show six that are not 0
constexpr std::array<double, 8> rates_shown{0.5, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-9};

void study_exactly(ResidualStudy& study, double rate, WeightsCache& cache, const sim::Effort& effort) {
    const ResidualSubject& subject = study.subject;
    const sim::WeightDistribution weights = cache.get(subject.generator, subject.data_bits, effort);
    const sim::ResidualError residual(weights, subject.copies);
    study.hd = weights.hamming_distance();
    unsigned there = 0;
    for (unsigned k = 1; k < weights.code.size() && (k <= weights_shown || there < 6); ++k) {
        there += weights.code[k].is_zero() ? 0U : 1U;
        study.weights.push_back({k, weights.code[k].decimal()});
    }
    const auto row = [&](double p) {
        const sim::ScaledReal value = residual.at(p);
        return ResidualRow{p, value, value, value, residual.customary(p)};
    };
    for (const double p : rates_shown) study.rows.push_back(row(p));
    study.at_rate = row(rate);
    study.maximum = residual.maximum();
    study.maximum_of_the_wrong = residual.maximum_of_the_wrong();
    study.worst_of_customary = residual.worst_of_customary();
    study.proper = residual.proper();
}

void study_by_bounds(ResidualStudy& study, double rate) {
    const ResidualSubject& subject = study.subject;
    study.exact = false;
    const sim::LowWeights low = sim::low_weights(subject.generator, subject.data_bits);
    const sim::ResidualBounds bounds(subject.generator, subject.data_bits, low, subject.copies);
    study.hd_is_bound = low.lowest() == 0;
    study.hd = study.hd_is_bound ? low.searched() + 1 : low.lowest();
    for (unsigned k = 1; k <= low.searched(); ++k) study.weights.push_back({k, low.counts[k].decimal()});
    const auto row = [&](double p) {
        return ResidualRow{p, std::nullopt, bounds.at_least(p), bounds.at_most(p), bounds.customary(p)};
    };
    for (const double p : rates_shown) study.rows.push_back(row(p));
    study.at_rate = row(rate);
}

std::string pair_of(std::uint32_t difference) { return "0x1 and " + sim::written_hex(difference ^ 1, 1); }

void note_aliases(const proto::Profile& profile, std::vector<std::string>& notes) {
    const std::vector<sim::ImpliedAlias> aliases = sim::implied_aliases(profile);
    if (aliases.empty()) return;
    const sim::ImpliedAlias& first = aliases.front();
    std::string example;
    if (first.source == 0 && first.number == 0)
        example = "the destinations " + pair_of(first.destination);
    else if (first.number == 0)
        example = "destination 0x1 from source 0x1 and destination " + sim::written_hex(first.destination ^ 1, 1) +
                  " from source " + sim::written_hex(first.source ^ 1, 1);
    else
        example = "number 0x1 of source 0x1 to destination 0x1 and number " + sim::written_hex(first.number ^ 1, 1) +
                  " of source " + sim::written_hex(first.source ^ 1, 1) + " to destination " +
                  sim::written_hex(first.destination ^ 1, 1);
    notes.push_back(std::to_string(sim::implied_bits(profile)) + " bits are implied, but the CRC has " +
                    std::to_string(profile.crc->width) + ": " + example +
                    " have the same CRC always, whatever is in the telegram; " +
                    counted(aliases.size(), "such bit of difference", "independent differences of that kind") +
                    ". linkdrill check compares the addresses of a scenario");
}

}  // namespace

unsigned data_bits_max(unsigned width, unsigned copies) {
    return 8 * (proto::telegram_bytes_max / copies - (width + 7) / 8);
}

ResidualSubject subject_of(const proto::Profile& profile, unsigned payload_bytes, unsigned numbers_accepted) {
    const proto::Layout layout = proto::layout_of(profile, payload_bytes).value();
    ResidualSubject subject;
    subject.name = profile.name;
    subject.generator = {profile.crc->width, profile.crc->polynomial};
    subject.data_bits = 8 * (layout.header_bytes + layout.payload_bytes);
    subject.copies = profile.copies;
    const bool number_implied = profile.sequence.presence == Presence::implied;
    if (number_implied) subject.tries = numbers_accepted;
    if (number_implied || profile.address.presence == Presence::implied) {
        subject.notes.push_back(std::string(number_implied ? "the number is" : "the addresses are") +
                                (number_implied && profile.address.presence == Presence::implied
                                     ? " implied and so are the addresses"
                                     : " implied") +
                                ": not sent, so no bit of it can go wrong; only the CRC tells, and 2^-" +
                                std::to_string(profile.crc->width) + " counts once for all of it");
    }
    if (number_implied && numbers_accepted > 1)
        subject.notes.push_back(
            "a receiver tries " + counted(numbers_accepted, "number", "numbers") +
            ", and R is multiplied by that: right at a bit error rate of 0.5. At low rates it may be too low, since "
            "fewer wrong bits than the Hamming distance can make a telegram fit another number (each bit in which the "
            "numbers differ counts as one of them)");
    note_aliases(profile, subject.notes);
    if (layout.crc_bytes * 8 != profile.crc->width)
        subject.notes.push_back("the CRC of " + std::to_string(profile.crc->width) + " bits travels in " +
                                std::to_string(layout.crc_bytes) +
                                " bytes; the bits beside it must be 0 and are looked at, so that R is a little lower");
    if (profile.zero_as_one)
        subject.notes.emplace_back(
            "a CRC of 0 is sent as 1: for the two telegrams in 2^width that this concerns, errors between them "
            "go unseen besides; far below the digits shown");
    return subject;
}

ResidualStudy study_residual(const ResidualSubject& subject, const ResidualQuestion& question, WeightsCache& cache,
                             const sim::Effort& effort) {
    ResidualStudy study;
    study.subject = subject;
    if (subject.generator.width <= sim::exact_width_max)
        study_exactly(study, question.bit_error_rate, cache, effort);
    else
        study_by_bounds(study, question.bit_error_rate);

    sim::MethodInput input = question.methods;
    input.width = subject.generator.width;
    input.residual = study.at_rate.at_most.to_double();
    input.tries = subject.tries;
    if (study.maximum_of_the_wrong) input.worst_share = study.maximum_of_the_wrong->value.to_double();
    study.methods = sim::judged_by_methods(input);
    if (study.exact) return study;
    // an upper bound over the share decides nothing where the lower bound is under it
    input.residual = study.at_rate.at_least.to_double();
    const std::vector<sim::MethodResult> least = sim::judged_by_methods(input);
    for (std::size_t i = 0; i < least.size(); ++i) {
        sim::MethodResult& method = study.methods[i];
        if (method.rate_per_hour) method.why += "; R is an upper bound here";
        if (!method.met || *method.met || !*least[i].met) continue;
        method.met.reset();
        method.why += ", and this decides nothing: the lower bound keeps the share";
    }
    return study;
}

}  // namespace tools
