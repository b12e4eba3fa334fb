// The channel of a live link, with the faults on the way and the neighbour that some of them need.
#include <algorithm>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "proto/parameters.hpp"
#include "sim/cell/neighbour_link.hpp"
#include "sim/cell/wiring.hpp"
#include "sim/link/strays.hpp"
#include "sim/live/live_part.hpp"

namespace sim {
namespace {

class LiveChannel final : public LivePart, private InjectionLog {
  public:
    LiveChannel(const Scenario& scenario, std::uint64_t seed, Send send, const PartRecord* before)
        : send_(std::move(send)),
          channel_(scenario.to_device, scenario.to_controller, seed),
          stages_(stage_context(scenario)),
          tables_(crc_tables(scenario)) {
        if (needs_neighbour(scenario)) neighbour_.emplace(scenario, tables_);
        stages_.log = this;
        stages_.seed = seed;
        stages_.neighbour = neighbour_.has_value();
        stages_.strays = earlier_start(scenario, seed);
        if (std::any_of(scenario.faults.begin(), scenario.faults.end(), needs_history)) channel_.keep_history();
        channel_.keep_fates();
        const std::vector<bool> over = touched_in(before, scenario.faults.size());
        for (std::size_t i = 0; i < scenario.faults.size(); ++i) {
            proto::require(!scenario.faults[i].when.any(), "a fault's condition is known to a whole cell only");
            if (!scenario.faults[i].at_end && !over[i]) channel_.add(make_stage(scenario.faults[i], i, stages_));
        }
    }

    void start(std::uint64_t entropy, Instant now) override {
        if (neighbour_) neighbour_->begin(Random(entropy, Concern::entropy), now);
    }
    void take_up(const PartRecord& before, std::uint64_t entropy) override {
        start(entropy, before.absences.back().until);
        // numbers go on, so that each is one telegram's
        for (const Event& event : before.log.events)
            if (const auto* offer = std::get_if<LoggedOffer>(&event)) offered_ = std::max(offered_, offer->number);
    }
    [[nodiscard]] Instant next_event() const override {
        const Instant neighbour = neighbour_ ? neighbour_->next_event() : proto::never;
        return std::min(neighbour, channel_.next_due());
    }
    Duration do_due(Instant now) override {
        if (neighbour_ && neighbour_->next_event() <= now) {
            const Duration late = now - neighbour_->next_event();
            neighbour_->do_next(now, channel_);
            note_fates(now);
            return late;
        }
        if (channel_.next_due() > now) return {};
        const Duration late = now - channel_.next_due();
        deliver(now);
        return late;
    }
    void arrive(Direction way, std::span<const std::uint8_t> bytes, Instant now) override {
        if (bytes.size() > proto::telegram_bytes_max) return;  // nothing that a safety layer sends
        Telegram& telegram = channel_.slot();
        telegram.assign(bytes);
        const bool parameter = proto::decode_parameters(bytes).has_value();
        ++offered_;
        log_.events.emplace_back(LoggedOffer{way, identity_of_bytes(bytes), offered_, bytes.size(), now});
        bytes_.insert(bytes_.end(), bytes.begin(), bytes.end());
        channel_.offer(telegram, Tag::genuine(offered_, 0, way, parameter), now);
        note_fates(now);
    }
    void forget() override {
        log_.events.clear();
        bytes_.clear();
    }
    void move_to(PartRecord& record) override {
        auto& events = record.log.events;
        events.insert(events.end(), log_.events.begin(), log_.events.end());
        record.telegrams.insert(record.telegrams.end(), bytes_.begin(), bytes_.end());
        log_.events.clear();
        bytes_.clear();
    }
    [[nodiscard]] PartShown shown() const override { return {}; }

  private:
    /// By fault: whether an earlier start wrote down that it touched something.
    static std::vector<bool> touched_in(const PartRecord* before, std::size_t faults) {
        std::vector<bool> found(faults, false);
        if (before == nullptr) return found;
        for (const Event& event : before->log.events)
            if (const auto* touched = std::get_if<Touched>(&event); touched != nullptr && touched->fault < faults)
                found[touched->fault] = true;
        return found;
    }
    void touched(std::size_t fault, Direction direction, Instant since, Instant now) override {
        log_.hear(Touched{fault, direction, since, now});
    }
    void note_fates(Instant now) {
        for (const Befallen& befallen : channel_.take_fates())
            if (befallen.tag.link == 0) log_.hear(Befell{befallen.tag, befallen.fate, now});
    }
    void deliver(Instant now) {
        const Channel::Delivery delivery = channel_.take();
        const Passage& passage = delivery.passage;
        const std::span<const std::uint8_t> bytes = delivery.telegram->view();
        if (passage.to_link == 0) {
            log_.events.emplace_back(
                LoggedDelivery{passage.to_end, identity_of_bytes(bytes), passage.tag.token(), bytes.size(), now});
            bytes_.insert(bytes_.end(), bytes.begin(), bytes.end());
            send_(passage.to_end, bytes);
        } else if (neighbour_) {
            neighbour_->receive(passage, *delivery.telegram);
        }
        channel_.release(delivery);
    }

    Send send_;
    EventLog log_;
    std::vector<std::uint8_t> bytes_;  ///< of what was offered and delivered, in the order of the log
    Channel channel_;
    StageContext stages_;
    std::optional<proto::CrcEngine> tables_;
    std::optional<NeighbourLink> neighbour_;
    std::uint64_t offered_ = 0;  ///< telegrams that arrived from outside
};

}  // namespace

std::unique_ptr<LivePart> live_channel(const Scenario& scenario, std::uint64_t seed, LivePart::Send send,
                                       const PartRecord* before) {
    return std::make_unique<LiveChannel>(scenario, seed, std::move(send), before);
}

}  // namespace sim
