// Addressing: telegrams arrive at the wrong end, at a neighbour's (two plugs exchanged) or at their own sender's.
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

class Swap final : public TriggeredStage {
  public:
    Swap(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context, context.neighbour ? Trigger::Links::both : Trigger::Links::own) {}

  private:
    Pass act(const Case& c) override {
        c.passage.to_link ^= 1U;
        touch(c);
        return Pass::deliver;
    }
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
    if (fault.way == FaultWay::swap) return std::make_unique<Swap>(fault, index, context);
    return std::make_unique<LoopBack>(fault, index, context);
}

}  // namespace sim
