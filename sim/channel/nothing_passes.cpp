#include "sim/channel/nothing_passes.hpp"

namespace sim {
namespace {

class NothingPasses final : public FaultStage {
  public:
    [[nodiscard]] Quiet quiet() const override { return {}; }
    Pass pass(Telegram&, Passage& passage, Channel&) override {
        return passage.tag.of_link() == 0 ? Pass::drop : Pass::deliver;
    }
};

}  // namespace

std::unique_ptr<FaultStage> make_nothing_passes() { return std::make_unique<NothingPasses>(); }

}  // namespace sim
