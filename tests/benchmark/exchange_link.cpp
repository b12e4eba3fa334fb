#include "tests/benchmark/exchange_link.hpp"

namespace benchmarks {

proto::LinkSettings end_settings(proto::End end) {
    proto::LinkSettings s;
    s.end = end;
    s.profile.address = {proto::Presence::carried, 16};
    s.profile.sequence = {proto::Presence::carried, 16};
    s.profile.crc = proto::CrcSpec{32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0};
    s.own_address = end == proto::End::controller ? 0x12 : 0x34;
    s.peer_address = end == proto::End::controller ? 0x34 : 0x12;
    s.payload_sent = s.payload_received = 13;  // 24 bytes in all
    s.cycle = s.scan = proto::milliseconds(4);
    s.watchdog = s.peer_watchdog = proto::milliseconds(12);
    return s;
}

sim::Scenario exchange_link(std::uint64_t cycles) {
    sim::Scenario s;
    s.file = "benchmark";
    s.duration = proto::milliseconds(4) * static_cast<std::int64_t>(cycles);
    s.controller.name = "controller";
    s.device.name = "device";
    s.controller.link = end_settings(proto::End::controller);
    s.device.link = end_settings(proto::End::device);
    s.device_phase = proto::milliseconds(2);
    sim::DelayShape delay;
    delay.kind = sim::DelayShape::Kind::histogram;
    for (int i = 0; i < 64; ++i)
        delay.cells.push_back({proto::microseconds(200 + 20 * i), proto::microseconds(220 + 20 * i),
                               static_cast<std::uint64_t>(i < 16 ? 3 * (i + 1) : 64 - i)});
    s.to_device.delay = s.to_controller.delay = delay;
    s.safeguards = {{"curtain", proto::End::controller, {}, {}, {}}};
    s.signals = {{"curtain", sim::Direction::to_device, {"curtain"}, {}},
                 {"ready", sim::Direction::to_controller, {}, {}}};
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits = {{"curtain", {0, 0}, {}}, {"ready", {0, 0}, {}}};
    s.machine.emplace();
    s.machine->speed_um_s = 60'000;
    s.machine->braking_um_s2 = 600'000;
    s.machine->reactions = {{"curtain", sim::StopCategory::category_0, {}}};
    return s;
}

}  // namespace benchmarks
