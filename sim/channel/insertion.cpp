// Insertion: a telegram that does not belong to the exchange arrives beside the right one. It is a neighbour's, or a
// stray one: own addresses and a CRC that fits, but from an earlier start of the link.
#include <array>
#include <optional>
#include <vector>

#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

class Insertion final : public TriggeredStage {
  public:
    Insertion(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context) {
        for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
            const auto& sent = context.strays[static_cast<std::size_t>(direction)];
            for (const Past& past : sent) {
                if (!past.tag.parameter) lane(direction).process.push_back(&past);
            }
        }
    }

  private:
    struct Lane {
        std::vector<const Past*> process;   ///< stray process telegrams, oldest first
        std::optional<std::uint64_t> next;  ///< begun with one drawn by lot, then in the order they were sent
    };
    Lane& lane(Direction direction) { return lanes_[static_cast<std::size_t>(direction)]; }

    Pass act(const Case& c) override {
        const Direction direction = c.passage.tag.direction;
        if (fault().way == FaultWay::stray) {
            Lane& from = lane(direction);
            if (from.process.empty()) return Pass::deliver;
            if (!from.next) from.next = draw_below(from.process.size());
            const Past& past = *from.process[*from.next];
            from.next = (*from.next + 1) % from.process.size();
            Tag tag = past.tag;
            tag.stray = true;
            send_beside(c, past.telegram, tag, receiver(direction));
        } else if (const Past* past = of_neighbour(c)) {
            send_beside(c, past->telegram, past->tag, receiver(direction));
        }
        return Pass::deliver;
    }

    [[nodiscard]] const Past* of_neighbour(const Case& c) const {
        const Direction direction = c.passage.tag.direction;
        if (!fault().other_link.empty())
            return context().others != nullptr ? context().others->newest(index(), direction, c.passage.sent) : nullptr;
        return context().neighbour ? c.channel.past(1, direction, 0, Counting::every) : nullptr;
    }

    std::array<Lane, 2> lanes_;
};

}  // namespace

std::unique_ptr<FaultStage> make_insertion(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Insertion>(fault, index, context);
}

}  // namespace sim
