#include "sim/link/strays.hpp"

#include "proto/contract.hpp"
#include "proto/endpoint.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

constexpr unsigned scans = 24;  // a handshake takes four, the rest are process telegrams

class Deaf final : public proto::EventSink {
  public:
    void concluded(proto::Token, const proto::Verdict&, Instant) override {}
    void changed(const proto::Transition&, Instant) override {}
    void acknowledged(bool, Instant) override {}
    void refused(proto::Refusal, const proto::LinkParameters&, Instant) override {}
};

proto::Endpoint endpoint_of(const proto::LinkSettings& settings, Deaf& deaf, proto::ProfileUse use) {
    auto made = proto::Endpoint::make(settings, deaf, use);
    proto::require(made.ok(), "an endpoint of impossible settings: the scenario's reader should have refused them");
    return std::move(made).value();
}

void exchange(proto::Endpoint& from, proto::Endpoint& to, Direction way, Instant now, std::vector<Past>& record) {
    from.on_deadline(now);
    for (std::uint8_t& byte : from.output()) byte = static_cast<std::uint8_t>(byte + 0x35);
    for (;;) {
        Past past;
        const auto made =
            from.poll_transmit(now, std::span<std::uint8_t, proto::telegram_bytes_max>(past.telegram.bytes));
        if (made.kind == proto::Transmission::Kind::none) return;
        past.telegram.size = static_cast<std::uint16_t>(made.bytes);
        past.tag.direction = way;
        past.tag.parameter = made.kind == proto::Transmission::Kind::parameter;
        past.tag.stray = true;
        to.receive(past.telegram.view(), {});
        record.push_back(past);
    }
}

}  // namespace

std::array<std::vector<Past>, 2> earlier_start(const Scenario& scenario, std::uint64_t seed) {
    std::array<std::vector<Past>, 2> records;
    Deaf deaf;
    proto::Endpoint controller = endpoint_of(as_played(scenario.controller), deaf, scenario.use);
    proto::Endpoint device = endpoint_of(as_played(scenario.device), deaf, scenario.use);
    const Random entropy(seed, Concern::stray);
    controller.start({}, {}, entropy.at(0));
    device.start({}, {}, entropy.at(1));
    for (unsigned i = 0; i < scans; ++i) {
        exchange(controller, device, Direction::to_device, controller.next_deadline(), records[0]);
        exchange(device, controller, Direction::to_controller, device.next_deadline(), records[1]);
    }
    return records;
}

}  // namespace sim
