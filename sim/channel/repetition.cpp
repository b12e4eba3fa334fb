// Unintended repetition: a telegram that was sent before arrives again.
#include <algorithm>
#include <array>
#include <span>
#include <vector>

#include "proto/parameters.hpp"
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

bool same_bytes(const Telegram& a, const Telegram& b) {
    const std::span<const std::uint8_t> x = a.view();
    const std::span<const std::uint8_t> y = b.view();
    return std::equal(x.begin(), x.end(), y.begin(), y.end());
}

/// The last parameter telegram among `sent`; on the way to the device only an offer begins a start.
const Past* last_parameters(const std::vector<Past>& sent, Direction direction) {
    const auto wanted = [direction](const Past& past) {
        if (!past.tag.parameter) return false;
        if (direction == Direction::to_controller) return true;
        const auto read = proto::decode_parameters(past.telegram.view());
        return read && read->step == proto::ParameterTelegram::Step::offer;
    };
    const auto found = std::find_if(sent.rbegin(), sent.rend(), wanted);
    return found == sent.rend() ? nullptr : &*found;
}

class Repetition final : public TriggeredStage {
  public:
    Repetition(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context) {
        for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
            const auto way = static_cast<std::size_t>(direction);
            old_parameters_[way] = last_parameters(context.strays[way], direction);
        }
    }

  private:
    Pass act(const Case& c) override {
        const Direction direction = c.passage.tag.direction;
        switch (fault().way) {
            case FaultWay::current_again: send_beside(c, c.telegram, c.passage.tag, receiver(direction)); break;
            case FaultWay::old_parameters:
                if (const Past* past = old_parameters(c)) {
                    Tag tag = past->tag;
                    tag.stray = tag.stray || past == old_parameters_[static_cast<std::size_t>(direction)];
                    send_beside(c, past->telegram, tag, receiver(direction));
                }
                break;
            case FaultWay::instead:
                if (const Past* past = earlier(c)) {
                    c.telegram.assign(past->telegram.view());
                    c.passage.tag = past->tag;
                    touch(c);
                }
                break;
            default:
                if (const Past* past = earlier(c)) send_beside(c, past->telegram, past->tag, receiver(direction));
                break;
        }
        return Pass::deliver;
    }

    /// The telegram `back` productions before the current one. A repeat of the newest in the history is not a
    /// production of its own.
    [[nodiscard]] const Past* earlier(const Case& c) const {
        const Tag& tag = c.passage.tag;
        const Past* newest = c.channel.past(tag.link, tag.direction, 0, Counting::distinct);
        if (newest == nullptr || fault().back == 0) return nullptr;
        const bool repeat = newest->tag.instance == tag.instance || same_bytes(newest->telegram, c.telegram);
        const unsigned skip = repeat ? 0 : 1;
        return c.channel.past(tag.link, tag.direction, fault().back - skip, Counting::distinct);
    }

    /// From the earlier start if one is known, else what this run began with.
    [[nodiscard]] const Past* old_parameters(const Case& c) const {
        const Direction direction = c.passage.tag.direction;
        if (const Past* past = old_parameters_[static_cast<std::size_t>(direction)]) return past;
        return direction == Direction::to_device ? c.channel.first_offer() : nullptr;
    }

    std::array<const Past*, 2> old_parameters_{};
};

}  // namespace

std::unique_ptr<FaultStage> make_repetition(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Repetition>(fault, index, context);
}

}  // namespace sim
