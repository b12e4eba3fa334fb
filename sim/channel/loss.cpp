// Loss: telegrams that never arrive; for a while and both ways, a cable that was pulled.
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

class Loss final : public TriggeredStage {
  public:
    Loss(const Fault& fault, std::size_t index, const StageContext& context) : TriggeredStage(fault, index, context) {}

  private:
    Pass act(const Case& c) override {
        touch(c);
        return Pass::drop;
    }
};

}  // namespace

std::unique_ptr<FaultStage> make_loss(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Loss>(fault, index, context);
}

}  // namespace sim
