#include "sim/drive/passing_over.hpp"

#include <span>

#include "proto/contract.hpp"

namespace sim {

std::optional<std::uint64_t> PassingOver::standing() const {
    JudgedCell& cell = run_.cell;
    const Instant now = cell.now();
    const auto& controller = cell.link().end(End::controller);
    const auto& device = cell.link().end(End::device);
    const auto of_controller = controller.endpoint().standing(now);
    const auto of_device = device.endpoint().standing(now);
    if (!of_controller || !of_device || controller.told() || device.told()) return std::nullopt;
    std::uint64_t sum = scramble(*of_controller) + *of_device;
    bool in_order = true;
    cell.channel().for_each_on_the_way([&](const Passage& passage, const Telegram& telegram) {
        const proto::Endpoint& to = cell.link().end(passage.to_end).endpoint();
        const auto standing = to.standing_of(telegram.view(), now);
        if (!standing || passage.tag.altered || passage.to_link != 0) {
            in_order = false;
            return;
        }
        // when it arrives does not matter, only in which scan it is read
        const ScanGrid scans{to.settings().scan, Duration{to.next_deadline().ns}};
        const auto read = static_cast<std::uint64_t>((scans.at_or_after(passage.due) - now).ns);
        sum = scramble(sum ^ scramble(read * 2 + static_cast<std::uint64_t>(passage.to_end))) + *standing;
    });
    if (!in_order) return std::nullopt;
    return sum;
}

void PassingOver::skip(std::uint64_t periods, const Period& period) {
    JudgedCell& cell = run_.cell;
    const Duration by = period.ends[0].lasting * static_cast<std::int64_t>(periods);
    proto::require(cell.now() + by <= cell.acts().agenda().next() && cell.plain(),
                   "PassingOver::skip() over somebody's act");
    const auto of = [&](End end) -> const proto::QuietPeriod& { return period.ends[static_cast<std::size_t>(end)]; };
    cell.channel().skip(by, {periods * period.telegrams[0], periods * period.telegrams[1]},
                        [&](const Passage& passage, Telegram& telegram) {
                            const End to = passage.to_end;
                            cell.link().end(to).endpoint().skip_on_the_way(
                                std::span<std::uint8_t, proto::telegram_bytes_max>(telegram.bytes), telegram.size,
                                periods, of(to));
                        });
    for (const End end : {End::controller, End::device}) cell.link().end(end).endpoint().skip(periods, of(end));
    const auto accepted = [&](Direction direction) { return periods * of(receiver(direction)).accepted; };
    run_.observer.pass_over(by, {accepted(Direction::to_device), accepted(Direction::to_controller)});
    for (const End end : {End::controller, End::device}) cell.link().end(end).passed_over();
    cell.pass(by, periods * period.cycles);
}

}  // namespace sim
