#include "sim/channel/triggered_stage.hpp"

#include "proto/contract.hpp"

namespace sim {

namespace {
constexpr std::size_t injections_max = 4095;  // Tag::injection has 12 bits and counts from 1
}

TriggeredStage::TriggeredStage(const Fault& fault, std::size_t index, const StageContext& context, Trigger::Links links)
    : fault_(fault),
      index_(index),
      context_(context),
      trigger_(fault, links, context.surroundings),
      random_(context.seed, Concern::fault_place, index) {
    proto::require(index < injections_max, "too many faults");
    proto::require(context.log != nullptr, "faults need a log");
}

FaultStage::Pass TriggeredStage::pass(Telegram& telegram, Passage& passage, Channel& channel) {
    const auto since = trigger_.acts_on(passage);
    return since ? act({telegram, passage, channel, *since}) : Pass::deliver;
}

void TriggeredStage::report(const Case& c) const {
    context_.log->touched(index_, c.passage.tag.direction, c.since, c.passage.sent);
}

void TriggeredStage::touch(const Case& c) {
    c.passage.tag.injection = static_cast<std::uint32_t>(index_ + 1) & Tag::injection_max;
    report(c);
}

void TriggeredStage::send_beside(const Case& c, const Telegram& telegram, const Tag& tag, End to_end) {
    Passage copy;
    copy.tag = tag;
    copy.tag.injection = static_cast<std::uint32_t>(index_ + 1) & Tag::injection_max;
    copy.to_link = 0;
    copy.to_end = to_end;
    copy.ordinal = c.passage.ordinal;
    copy.sent = c.passage.sent;
    copy.due = c.channel.due_beside(c.passage);
    if (c.channel.schedule(telegram, copy)) report(c);
}

}  // namespace sim
