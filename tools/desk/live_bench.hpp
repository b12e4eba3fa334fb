#pragma once
// The bench of a desk in the time of its onlookers: real time, slowed, or step by step; and what they do at it.
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/desk/desk_bench.hpp"
#include "tools/desk/bench_told.hpp"
#include "tools/desk/fields.hpp"
#include "tools/text/value.hpp"

namespace tools {

class TypedPlant;

class LiveBench {
  public:
    /// A bench of what is typed there, at `wall`, the time of the onlookers. `hour`: of its begin, for people.
    LiveBench(std::shared_ptr<const TypedPlant> typed, sim::DeskBench::Begin begin, proto::Instant wall,
              std::string hour);

    [[nodiscard]] const std::shared_ptr<const TypedPlant>& typed() const { return typed_; }
    [[nodiscard]] const sim::DeskBench& bench() const { return *bench_; }
    [[nodiscard]] bool as_written() const { return begin_ == sim::DeskBench::Begin::as_written; }
    [[nodiscard]] const std::string& hour() const { return hour_; }

    /// Plant time follows the wall. Somebody looks, or it waits.
    void run_on(proto::Instant wall, bool looked_at);
    /// Runs as fast as it can up to that plant time, a piece with each run_on(), and slowly from there.
    void run_up_to(proto::Instant plant);
    /// Still on its way there.
    [[nodiscard]] bool hurries() const { return up_to_.has_value(); }

    /// What the page asks for: "rate", "step", "until", or an act of somebody. Why it had no effect, in words.
    std::optional<std::string> act(const Fields& fields, proto::Instant wall);

    /// "bench" of the page. `old`: something was typed since.
    [[nodiscard]] Value told(bool old) const;
    [[nodiscard]] Value explained(std::uint64_t telegram) const { return telegram_explained(*bench_, telegram); }

  private:
    void set_rate(DeskRate rate, proto::Instant wall);
    [[nodiscard]] proto::Instant plant_at(proto::Instant wall) const;
    std::optional<std::string> act_of_people(const std::string& what, const Fields& fields);
    std::optional<std::string> put_in(const Fields& fields);

    std::shared_ptr<const TypedPlant> typed_;
    std::unique_ptr<sim::DeskBench> bench_;
    sim::DeskBench::Begin begin_;
    std::string hour_;
    DeskRate rate_ = DeskRate::real;
    proto::Instant plant_from_{}, wall_from_{}, wall_now_{};
    bool waits_ = false;  ///< nobody looks
    std::vector<RateChange> rates_;
    std::optional<proto::Instant> up_to_;
    std::string refused_;
    Value offers_;
};

}  // namespace tools
