#pragma once
// The law of a desk's bench, tried: random acts, what was done read back as a file, and both runs compared.
#include <cstdint>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "sim/desk/desk_bench.hpp"
#include "sim/scenario/scenario.hpp"

namespace tests {

/// The text for a run of that length; without its own demands, acts and faults if nobody wants them.
std::string lasting(const std::string& text, proto::Duration duration, bool with_acts);

struct DeskFile {
    std::string path, text;
    bool several = false;
};
DeskFile desk_file(const std::string& path);
/// Its links, each as it stands alone.
std::vector<sim::Scenario> links_of(const DeskFile& file);
std::unique_ptr<sim::DeskBench> bench_of(const DeskFile& file, std::uint64_t seed, sim::DeskBench::Begin begin,
                                         sim::DeskTrace* trace);

/// What people might do: with that seed always the same.
class RandomPeople {
  public:
    /// Emergency stops too: what is done after the first is not kept.
    enum class Stops : std::uint8_t { none, now_and_then };
    explicit RandomPeople(std::uint64_t seed, Stops stops = Stops::none) : random_(seed), stops_(stops) {}
    /// Waits, and does something; whether it had an effect.
    bool act(sim::DeskBench& bench, const std::vector<sim::Scenario>& links);

  private:
    std::uint64_t below(std::uint64_t count) { return random_() % count; }
    bool put_in_something(sim::DeskBench& bench, const std::string& link, const sim::Scenario& scenario);
    std::mt19937_64 random_;
    Stops stops_;
};

/// What differs, up to bench.kept_until(), between what the bench showed and a run of what was kept, as written and as
/// rehearsed; empty: nothing.
std::string what_differs(const DeskFile& file, std::uint64_t seed, sim::DeskBench::Begin begin,
                         const sim::DeskBench& bench, const sim::DeskTrace& shown);

}  // namespace tests
