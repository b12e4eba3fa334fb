#pragma once
// What people do at the plant, act by act: each happens at its place, takes its plant time, and has its effect on the
// bench, which runs meanwhile. Which of them are right is no matter here; a mend mends the cause that is its own.
#include <cstddef>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "sim/training/bench_works.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// What became of a guard's signals once it was demanded, or let go again.
struct GuardTried {
    std::size_t guard = 0;
    bool fell_sent = false;    ///< all of them, at the end that reads it
    bool fell_used = false;    ///< at the other end, which acts on it
    bool others_fell = false;  ///< signals besides that hang on other guards
    bool was_off = false;      ///< they were 0 already
    bool was_latched = false;  ///< by somebody else, before
};

/// An act that was done, or is under way.
struct Work {
    std::size_t card = 0;             ///< index among the cards
    std::optional<std::size_t> link;  ///< the one that is meant, where there are several
    Instant begun{}, until{};
    WorkEffect effect = WorkEffect::none;
    /// Of not_started why; of link_fell, ran_on and stopped_by_guard how long after the begin, or after the demand.
    std::optional<StartRefusal> refusal = {};
    std::optional<Duration> after = {};
    std::vector<GuardTried> tried = {};
    bool over = false;
};

class PlantWork {
  public:
    static constexpr std::size_t works_max = 60;  ///< in one drill
    /// A press of a button is watched for so long before it is told what came of it.
    static constexpr Duration press_watched = proto::seconds(5);
    /// From one guard to the next.
    static constexpr Duration between_guards = proto::seconds(5);

    /// All must outlive it; `sheet`: each link as it should be, in their order.
    PlantWork(const Drill& drill, const std::vector<ActionCard>& cards, Bench& bench);

    [[nodiscard]] bool busy() const { return !works_.empty() && !works_.back().over; }
    /// Begins the card of that index. Requires that nothing is under way and works() are fewer than works_max.
    void begin(std::size_t card, std::optional<std::size_t> link);
    /// Runs the bench, and does what is due on the way; the same however it is divided.
    void run_until(Instant end);
    [[nodiscard]] const std::vector<Work>& works() const { return works_; }
    /// Where people are.
    [[nodiscard]] WorkPlace here() const { return here_; }
    [[nodiscard]] bool tools_in() const { return tools_in_; }
    /// The cause is put right.
    [[nodiscard]] bool mended() const { return mended_; }
    /// What had passed came again, and when.
    [[nodiscard]] const std::vector<Instant>& returned() const { return returned_; }

  private:
    struct Due {
        Instant at;
        enum class What : std::uint8_t { finish, demand, look, reset, type, come_again } what;
        std::size_t number = 0;  ///< of a guard or an end
    };
    [[nodiscard]] const ActionCard& card() const { return cards_[works_.back().card]; }
    void due(Instant at, Due::What what, std::size_t number = 0);
    void act(const Due& due);
    void begin_at_plant();
    void finish();
    void finish_at_plant(Work& work);
    void finish_typing(Work& work);
    void finish_pressing(Work& work);
    void finish_watching(Work& work);
    void finish_at_machine(Work& work);
    [[nodiscard]] WorkEffect mend(const std::string& id);
    void press_acknowledge(Work& work);
    void start(Work& work);
    void begin_typing();
    void type(std::size_t link, End end);
    [[nodiscard]] std::optional<proto::LinkSettings> meant_for(std::size_t link, End end) const;
    void demand(std::size_t guard);
    void look_at(std::size_t guard);
    [[nodiscard]] std::optional<Duration> fell_after(Instant since) const;
    [[nodiscard]] const Scenario& sheet(std::size_t link) const;
    [[nodiscard]] bool is_the_mend(const std::string& id) const;
    [[nodiscard]] std::size_t meant_link() const;
    void look_for_acknowledgement(Instant since);

    const Drill& drill_;
    const std::vector<ActionCard>& cards_;
    Bench& bench_;
    BenchWorks works_of_bench_;
    std::vector<Work> works_;
    std::deque<Due> dues_;  ///< in the order of time
    std::vector<Instant> returned_;
    WorkPlace here_ = WorkPlace::outside;
    bool tools_in_ = false, mended_ = false, comes_again_ = false;
    std::vector<std::uint64_t> off_before_;  ///< by link: signals at 0 before a demand, as sent and as used
};

}  // namespace sim
