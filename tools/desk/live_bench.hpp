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
#include "tools/desk/refusal.hpp"
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

    /// What the page asks for: "rate", "step", "until", "to", or an act of somebody. Refused: it had no effect.
    DeskAnswer act(const Fields& fields, proto::Instant wall);
    /// That telegram is kept, and its end has not looked at it.
    [[nodiscard]] bool is_on_its_way(std::uint64_t telegram) const;

    /// "bench" of the page. `old`: something was typed since.
    [[nodiscard]] Value told(bool old) const;
    [[nodiscard]] Value explained(std::uint64_t telegram) const { return telegram_explained(*bench_, telegram); }

  private:
    void set_rate(DeskRate rate, proto::Instant wall);
    [[nodiscard]] proto::Instant plant_at(proto::Instant wall) const;
    DeskAnswer move_time(const std::string& what, const Fields& fields, proto::Instant wall);
    DeskAnswer act_of_people(const std::string& what, const Fields& fields);
    DeskAnswer put_in(const Fields& fields);
    DeskAnswer take_out(const Fields& fields);
    DeskAnswer answered(const sim::DeskRefusal& refusal, const Fields& fields) const;

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
