// Any text as a telegram profile: refused in one line, or a profile of which a telegram can be built and read back.
#include <array>
#include <vector>

#include "proto/telegram.hpp"
#include "sim/reading/read.hpp"
#include "tests/fuzz/fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string path = fuzz::source("scenarios/profiles/any.toml");
    const std::string text = fuzz::text_of(data, size);
    const auto profile = sim::profile_in(text, path);
    if (!profile) {
        fuzz::expect_one_line(profile.error().one_line());
        return 0;
    }
    if (!sim::kind_of_text(text, path)) fuzz::broken("a profile of no kind");
    const proto::Profile& found = profile.value();
    const auto layout = proto::layout_of(found, found.payload_bytes);
    if (!layout || !found.crc) fuzz::broken("a profile without a telegram");
    static_cast<void>(proto::identity_of(found));
    const proto::FieldPlaces places = proto::places_of(found, found.payload_bytes);
    if (places.crc.first_bit + places.crc.bits > 8 * layout.value().copy_bytes) fuzz::broken("a field past the end");
    const auto crc = proto::CrcEngine::make(*found.crc);
    if (!crc) fuzz::broken("a CRC that is none");
    const proto::Codec codec(found, &crc.value(), proto::End::device, 1, 0, found.payload_bytes);
    const std::vector<std::uint8_t> payload(found.payload_bytes, 0x5A);
    std::array<std::uint8_t, proto::telegram_bytes_max> bytes{};
    codec.encode({.status = proto::status_request, .number = 1}, payload, bytes);
    const std::array<std::uint32_t, 1> tries{1};
    const auto read = codec.decode(std::span(bytes).first(layout.value().total_bytes), tries);
    if (!read.failed.empty() || !std::equal(payload.begin(), payload.end(), read.payload))
        fuzz::broken("a telegram of the profile is not read back");
    return 0;
}
