#include "sim/link/strays.hpp"

#include "sim/link/end_of_link.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

constexpr unsigned scans = 24;  // a handshake takes four, the rest are process telegrams

class Deaf final : public EndListener {
  public:
    void concluded(std::uint8_t, End, proto::Token, const proto::Verdict&, Instant) override {}
    void changed(std::uint8_t, End, const proto::Transition&, Instant) override {}
    void acknowledged(std::uint8_t, End, bool, Instant) override {}
    void refused(std::uint8_t, End, proto::Refusal, const proto::LinkParameters&, Instant) override {}
};

void exchange(EndOfLink& from, EndOfLink& to, Instant now, std::vector<Past>& record) {
    from.endpoint().on_deadline(now);
    for (std::uint8_t& byte : from.endpoint().output()) byte = static_cast<std::uint8_t>(byte + 0x35);
    for (;;) {
        Past past;
        const auto made =
            from.endpoint().poll_transmit(now, std::span<std::uint8_t, proto::telegram_bytes_max>(past.telegram.bytes));
        if (made.kind == proto::Transmission::Kind::none) return;
        past.telegram.size = static_cast<std::uint16_t>(made.bytes);
        past.tag.direction = from.end() == End::controller ? Direction::to_device : Direction::to_controller;
        past.tag.parameter = made.kind == proto::Transmission::Kind::parameter;
        past.tag.stray = true;
        to.endpoint().receive(past.telegram.view(), {});
        record.push_back(past);
    }
}

}  // namespace

std::array<std::vector<Past>, 2> earlier_start(const Scenario& scenario, std::uint64_t seed) {
    std::array<std::vector<Past>, 2> records;
    Deaf deaf;
    EndOfLink controller(scenario.controller.link, 0, deaf, std::nullopt, scenario.use);
    EndOfLink device(scenario.device.link, 0, deaf, std::nullopt, scenario.use);
    const Random entropy(seed, Concern::stray);
    controller.endpoint().start({}, {}, entropy.at(0));
    device.endpoint().start({}, {}, entropy.at(1));
    for (unsigned i = 0; i < scans; ++i) {
        exchange(controller, device, controller.endpoint().next_deadline(), records[0]);
        exchange(device, controller, device.endpoint().next_deadline(), records[1]);
    }
    return records;
}

}  // namespace sim
