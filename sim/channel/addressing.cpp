// Addressing: telegrams arrive at the wrong end, at a neighbour's (two plugs exchanged) or at their own sender's.
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

/// Two links whose telegrams change places: of a neighbour in the same channel those of both.
Trigger::Links swapped(const Fault& fault, const StageContext& context) {
    const bool both = fault.way == FaultWay::swap && fault.other_link.empty() && context.neighbour;
    return both ? Trigger::Links::both : Trigger::Links::own;
}

/// To the neighbour's end instead of their own.
class Astray final : public TriggeredStage {
  public:
    Astray(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context, swapped(fault, context)) {}

  private:
    Pass act(const Case& c) override {
        if (fault().other_link.empty()) {
            c.passage.to_link ^= 1U;
            touch(c);
            return Pass::deliver;
        }
        touch(c);
        Passage there = c.passage;
        there.due = c.channel.due_beside(c.passage);
        if (context().others != nullptr) context().others->hand_over(index(), c.telegram, there, c.since);
        return Pass::drop;
    }
};

/// What goes astray at another link arrives here by itself.
class NothingOfItsOwn final : public FaultStage {
  public:
    [[nodiscard]] Quiet quiet() const override { return {~std::uint64_t{0}, proto::never}; }
    Pass pass(Telegram&, Passage&, Channel&) override { return Pass::deliver; }
};

class LoopBack final : public TriggeredStage {
  public:
    LoopBack(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context) {}

  private:
    Pass act(const Case& c) override {
        send_beside(c, c.telegram, c.passage.tag, sender(c.passage.tag.direction));
        return Pass::deliver;
    }
};

}  // namespace

std::unique_ptr<FaultStage> make_addressing(const Fault& fault, std::size_t index, const StageContext& context) {
    if (fault.way == FaultWay::loop_back) return std::make_unique<LoopBack>(fault, index, context);
    if (fault.way == FaultWay::misdeliver && fault.of_other_link) return std::make_unique<NothingOfItsOwn>();
    return std::make_unique<Astray>(fault, index, context);
}

}  // namespace sim
