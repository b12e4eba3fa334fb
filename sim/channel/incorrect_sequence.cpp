// Incorrect sequence: a telegram is held and delivered after later ones.
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

class IncorrectSequence final : public TriggeredStage {
  public:
    IncorrectSequence(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context) {}

  private:
    Pass act(const Case& c) override {
        if (fault().hold <= Duration{}) return Pass::deliver;
        c.passage.held = c.passage.held + fault().hold;
        touch(c);
        return Pass::deliver;
    }
};

}  // namespace

std::unique_ptr<FaultStage> make_incorrect_sequence(const Fault& fault, std::size_t index,
                                                    const StageContext& context) {
    return std::make_unique<IncorrectSequence>(fault, index, context);
}

}  // namespace sim
