// Values in a telegram of a capture, as each end reads them; and the settings of a capture that hold them.
#include "sim/capture/explain_values.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <string>

#include "sim/reading/capture_settings.hpp"
#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using sim::ExplainedField;
using sim::Hop;
using sim::ValueOrder;
using sim::ValueType;
using Bytes = std::vector<std::uint8_t>;

sim::CaptureSettings settings(ValueOrder at_device, std::int64_t high = 65'535'000) {
    sim::Scenario s = tests::polled_link();
    sim::SafeValue value = tests::speed_value("allowed_speed");
    value.high = high;
    tests::add_value(s, value, {ValueType::u16, 2, ValueOrder::high_first, 1'000, {}});
    s.values.typed[1][0].order = at_device;
    sim::CaptureSettings made = sim::settings_of(s);
    made.version = "test";
    return made;
}

std::vector<ExplainedField> explained(const sim::CaptureSettings& settings, const Bytes& payload, Hop hop) {
    const sim::TelegramReader reader(settings);
    const sim::TelegramView& view = reader.view(hop);
    std::array<std::uint8_t, proto::telegram_bytes_max> room{};
    proto::Header header;
    header.number = 5;
    view.codec().encode(header, payload, room);
    const Bytes telegram(room.begin(), room.begin() + view.layout().total_bytes);
    std::vector<ExplainedField> fields = sim::explain(view, {}, telegram);
    sim::explain_values(settings, view, telegram, fields);
    return fields;
}

std::string meaning_of(const std::vector<ExplainedField>& fields, const std::string& name) {
    const auto found =
        std::find_if(fields.begin(), fields.end(), [&](const ExplainedField& f) { return f.name == name; });
    return found == fields.end() ? "" : found->bytes + ": " + found->meaning;
}

TEST_CASE("bytes, count and quantity are told as each end reads them, behind the payload") {
    const auto fields =
        explained(settings(ValueOrder::low_first), {0, 0, 0x00, 0x64, 0, 0, 0, 1}, Hop::controller_to_channel);
    CHECK(meaning_of(fields, "allowed_speed, table controller") == "00 64: count 100, 100 mm/s (u16, high byte first)");
    CHECK(meaning_of(fields, "allowed_speed, table I/O") == "00 64: count 25600, 25600 mm/s (u16, low byte first)");
    const auto payload =
        std::find_if(fields.begin(), fields.end(), [](const ExplainedField& f) { return f.name == "payload"; });
    REQUIRE(payload != fields.end());
    CHECK((payload + 1)->name == "allowed_speed, table controller");
    CHECK(*(payload + 1)->first_bit == *payload->first_bit + 16);
}

TEST_CASE("what is out of range, and a payload of zeros, is said to be replaced, and the other way has no such value") {
    const auto out =
        explained(settings(ValueOrder::low_first, 250'000), {0, 0, 0x00, 0x64, 0, 0, 0, 1}, Hop::channel_to_device);
    CHECK(meaning_of(out, "allowed_speed, table I/O") ==
          "00 64: count 25600, 25600 mm/s (u16, low byte first); out of range, the substitute is used: 0 mm/s");
    const auto zeros = explained(settings(ValueOrder::high_first), Bytes(8), Hop::channel_to_device);
    CHECK(meaning_of(zeros, "allowed_speed, table I/O") ==
          "00 00: count 0, 0 mm/s (u16, high byte first); a payload of zeros stands for substitutes: 0 mm/s");
    const auto back = explained(settings(ValueOrder::high_first), Bytes(8, 1), Hop::device_to_channel);
    CHECK(meaning_of(back, "allowed_speed, table I/O").empty());
}

TEST_CASE("an end that exchanges pairs of bytes reads them exchanged") {
    sim::CaptureSettings exchanged = settings(ValueOrder::high_first);
    for (sim::CapturedEnd* end : {&exchanged.controller, &exchanged.device})
        end->link.byte_order = proto::ByteOrder::low_first;
    const auto fields = explained(exchanged, {0, 0, 0x64, 0x00, 0, 0, 0, 1}, Hop::channel_to_device);
    CHECK(meaning_of(fields, "allowed_speed, table I/O") == "64 00: count 100, 100 mm/s (u16, high byte first)");
}

TEST_CASE("a telegram that is cut short tells no values") {
    const sim::CaptureSettings made = settings(ValueOrder::high_first);
    const sim::TelegramReader reader(made);
    const Bytes cut(6, 1);
    std::vector<ExplainedField> fields = sim::explain(reader.view(Hop::channel_to_device), {}, cut);
    const std::size_t before = fields.size();
    sim::explain_values(made, reader.view(Hop::channel_to_device), cut, fields);
    CHECK(fields.size() == before);
}

TEST_CASE("what a capture says of its values is read back, and without any it says nothing") {
    const sim::CaptureSettings made = settings(ValueOrder::low_first);
    const std::string text = sim::written(made);
    const auto read = sim::read_capture_settings(text, "a.pcapng");
    REQUIRE(read.ok());
    REQUIRE(read.value().device.values.size() == 1);
    const sim::CapturedEnd::Number& value = read.value().device.values.front();
    CHECK(value.name == "allowed_speed");
    CHECK(value.typed == made.device.values.front().typed);
    CHECK(value.high == 65'535'000);
    CHECK(value.unit == sim::ValueUnit::speed);
    CHECK(sim::written(read.value()) == text);
    CHECK(sim::written(sim::settings_of(tests::polled_link())).find("values") == std::string::npos);
    // a scale that no value can have would overflow when it is reckoned with
    std::string bent = text;
    const std::string scale = "scale = \"1000\"";
    bent.replace(bent.find(scale), scale.size(), "scale = \"9000000000000000000\"");
    CHECK(!sim::read_capture_settings(bent, "a.pcapng").ok());
}

}  // namespace
