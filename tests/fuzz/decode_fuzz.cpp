// Any bytes as a capture to be decoded: by a shipped profile or by what the capture says about itself, telegram by
// telegram, explained, as JSON and as a page. What is read once is read again after rewind().
#include <array>

#include "sim/capture/explain.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/capture/capture_decoder.hpp"
#include "tools/capture/decode_page.hpp"
#include "tools/text/json.hpp"

namespace {

/// Read once: nothing of them changes.
const std::array<tools::GivenProfile, 3>& profiles() {
    const auto given = [](const char* name) {
        const std::string file = fuzz::source("scenarios/profiles/") + name;
        return tools::GivenProfile{file, sim::read_profile(file).value()};
    };
    static const std::array<tools::GivenProfile, 3> read{given("crc32_carried.toml"), given("crc24_implied.toml"),
                                                         given("crc32_stamped.toml")};
    return read;
}

void show(const tools::CaptureDecoder& decoder, const tools::ListedTelegram& telegram, bool on_a_page) {
    const auto fields = sim::explain(decoder.view(telegram.hop, telegram.link), telegram.seen, telegram.bytes);
    if (!on_a_page) return;
    const std::string json = tools::to_json(
        tools::Value::Object{{"telegram", tools::describe(telegram, decoder)}, {"fields", tools::describe(fields)}});
    if (!tools::from_json(json)) fuzz::broken("a telegram that is no JSON");
    const tools::Columns columns;
    static_cast<void>(tools::row_of(telegram, decoder, columns));
    static_cast<void>(tools::page_of(telegram, decoder, fields, columns).text(tools::Colour::off));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const unsigned how = input.byte();
    const unsigned which = how & 3U;
    const sim::CaptureSource capture("any.pcapng", input.rest());
    auto opened = tools::CaptureDecoder::open_by(capture, which < profiles().size() ? &profiles()[which] : nullptr);
    if (!opened) {
        fuzz::expect_one_line(opened.error().one_line());
        return 0;
    }
    tools::CaptureDecoder& decoder = opened.value();
    constexpr unsigned explained_most = 8;
    const unsigned shown_most = (how & 8U) != 0 ? 2 : 0;
    unsigned telegrams = 0;
    tools::DecodeCounts counts;
    while (const auto telegram = decoder.next()) {
        counts.count(*telegram);
        if (++telegrams <= explained_most) show(decoder, *telegram, telegrams <= shown_most);
    }
    if (decoder.damage()) fuzz::expect_one_line(decoder.damage()->one_line());
    static_cast<void>(tools::page_of(decoder, counts, "any.pcapng", tools::Columns{}));
    if ((how & 4U) == 0) return 0;
    if (!decoder.rewind()) fuzz::broken("what was read cannot be read again");
    while (decoder.next()) --telegrams;
    if (telegrams != 0) fuzz::broken("another number of telegrams the second time");
    return 0;
}
