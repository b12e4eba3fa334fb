// Unacceptable delay: a step of latency, or latency that grows. What comes after the end of the fault stays behind
// what it delayed, as in a buffer that drains; without keep_order later telegrams overtake.
#include <optional>

#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

class Delay final : public TriggeredStage {
  public:
    Delay(const Fault& fault, std::size_t index, const StageContext& context) : TriggeredStage(fault, index, context) {}

  private:
    Pass act(const Case& c) override {
        const Duration extra = extra_for(c);
        if (extra <= Duration{}) return Pass::deliver;
        Passage& passage = c.passage;
        if (fault().keep_order) {
            passage.due = passage.due + extra;
            c.channel.keep_behind(passage.tag.link, passage.tag.direction, passage.due);
        } else {
            passage.held = passage.held + extra;
        }
        touch(c);
        return Pass::deliver;
    }

    /// Growth counts from the begin of the fault: with a duration its begin, else the first telegram.
    Duration extra_for(const Case& c) {
        if (fault().way == FaultWay::step) return fault().extra;
        if (!grows_since_) grows_since_ = c.since;
        const std::int64_t second = proto::seconds(1).ns;
        const std::int64_t passed = (c.passage.sent - *grows_since_).ns;
        // Whole seconds apart from the rest, so that nothing overflows: a run lasts hours, `extra` at most hours.
        const auto rest = static_cast<std::int64_t>(
            scale_down(static_cast<std::uint64_t>(passed % second), static_cast<std::uint64_t>(fault().extra.ns)));
        return {passed / second * fault().extra.ns + rest};
    }

    /// part * whole / 10^9
    static std::uint64_t scale_down(std::uint64_t part, std::uint64_t whole) {
        return static_cast<std::uint64_t>(static_cast<Wide>(part) * whole / 1'000'000'000U);
    }

    std::optional<Instant> grows_since_;
};

}  // namespace

std::unique_ptr<FaultStage> make_delay(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Delay>(fault, index, context);
}

}  // namespace sim
