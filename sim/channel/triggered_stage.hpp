#pragma once
// What the stages of all errors have in common; private to sim/channel.
#include <cstddef>
#include <cstdint>
#include <memory>

#include "sim/channel/fault_stages.hpp"
#include "sim/channel/trigger.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

class TriggeredStage : public FaultStage {
  public:
    [[nodiscard]] Quiet quiet() const final { return trigger_.quiet(); }
    Pass pass(Telegram& telegram, Passage& passage, Channel& channel) final;
    [[nodiscard]] std::uint64_t counted(Direction direction) const final { return trigger_.seen(direction); }

  protected:
    /// A telegram that the fault acts on, and its surroundings.
    struct Case {
        Telegram& telegram;
        Passage& passage;
        Channel& channel;
        Instant since;
    };

    TriggeredStage(const Fault& fault, std::size_t index, const StageContext& context,
                   Trigger::Links links = Trigger::Links::own);

    virtual Pass act(const Case& c) = 0;

    /// Marks the telegram itself as touched and reports it.
    void touch(const Case& c);
    /// Sends `telegram` beside the one acted on, to `to_end` of link 0, marked, and reports it.
    void send_beside(const Case& c, const Telegram& telegram, const Tag& tag, End to_end);
    /// The next draw of this fault.
    [[nodiscard]] std::uint64_t draw() { return random_.at(drawn_++); }
    [[nodiscard]] std::uint64_t draw_below(std::uint64_t below) { return scale(draw(), below); }

    [[nodiscard]] const Fault& fault() const { return fault_; }
    [[nodiscard]] std::size_t index() const { return index_; }
    [[nodiscard]] const StageContext& context() const { return context_; }

  private:
    void report(const Case& c) const;

    const Fault fault_;
    const std::size_t index_;
    const StageContext& context_;
    Trigger trigger_;
    Random random_;
    std::uint64_t drawn_ = 0;
};

using StageMaker = std::unique_ptr<FaultStage>(const Fault&, std::size_t, const StageContext&);
StageMaker make_corruption, make_repetition, make_incorrect_sequence, make_loss, make_delay, make_insertion,
    make_masquerade, make_addressing;

}  // namespace sim
