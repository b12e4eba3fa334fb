// Any bytes as a capture out of which delays are measured, alone or with the same bytes as the capture at the device.
#include "sim/reading/capture.hpp"
#include "tests/fuzz/fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const unsigned how = input.byte();
    const auto port = static_cast<std::uint16_t>(input.number(2));
    sim::CaptureWish wish;
    wish.path = "any.pcapng";
    wish.held = input.rest();
    if ((how & 1U) != 0) wish.use = sim::CaptureWish::Use::gaps;
    if ((how & 2U) != 0) wish.port = port;
    if ((how & 4U) != 0) wish.subtract = proto::microseconds(how >> 4U);
    if ((how & 8U) != 0) {
        wish.at_device = "same.pcapng";
        wish.held_at_device = wish.held;
    }
    const auto found = sim::delays_in_capture(wish);
    if (!found) {
        fuzz::expect_one_line(found.error().one_line());
        return 0;
    }
    if (found.value().times.size() < 2) fuzz::broken("too few delays");
    for (const proto::Duration delay : found.value().times)
        if (delay < proto::Duration{} || delay > proto::seconds(3600)) fuzz::broken("a delay that cannot be");
    if (found.value().with_device > found.value().times.size()) fuzz::broken("more than all hold the device's time");
    return 0;
}
