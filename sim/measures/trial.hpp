#pragma once
// One trial: a link at a random phase, with random payloads, and one error in one of the ways in which it comes about.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/measures/links.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

struct Fault;
struct Scenario;

/// One way of an error.
struct StudyWay {
    FaultWay way = FaultWay::random_bits;
    /// Repetition: from as long ago as the number takes to come round, so that it fits again.
    enum class From : std::uint8_t { anywhere, one_round_ago } from = From::anywhere;
};
/// The ways in which an error is tried on that link, one after the other.
std::vector<StudyWay> ways_of(ErrorKind error, const StudyLink& link);
/// "beside", "beside, one round of its number ago".
std::string name_of(const StudyWay& way);

/// The draws of one trial, one after the other. The same seed and part give the same ones.
class TrialDraws {
  public:
    TrialDraws(std::uint64_t seed, std::uint64_t part) : random_(seed, Concern::trial, part) {}
    std::uint64_t any() { return random_.at(drawn_++); }
    /// 0..count - 1; requires count > 0.
    std::uint64_t below(std::uint64_t count) { return scale(any(), count); }
    std::uint64_t between(std::uint64_t low, std::uint64_t high) { return low + below(high - low + 1); }
    Duration ms_between(std::uint64_t low, std::uint64_t high) {
        return proto::microseconds(static_cast<std::int64_t>(between(low * 1000, high * 1000)));
    }

  private:
    Random random_;
    std::uint64_t drawn_ = 0;
};

/// The link with a neighbour, a good channel and signals that come and go; no fault yet.
Scenario scenario_of(const StudyLink& link, TrialDraws& draws);

/// An error that begins once the link has run for a while. Losses and delays outlast the watchdog and what is required.
Fault fault_of(const StudyWay& way, const StudyLink& link, TrialDraws& draws);

}  // namespace sim
