// Telegrams read and explained out of a capture: every profile that ships, whole and with a field bent.
#include <algorithm>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "proto/endpoint.hpp"
#include "sim/capture/explain.hpp"
#include "sim/numeric/random.hpp"
#include "sim/reading/capture_settings.hpp"
#include "sim/reading/read.hpp"

namespace {

using sim::ExplainedField;
using sim::Hop;
using Kind = proto::Verdict::Kind;
using Bytes = std::vector<std::uint8_t>;

const char* const shipped[] = {"crc16_twice",    "crc24_implied",        "crc32_carried",
                               "crc32_feedback", "crc32_implied_number", "crc32_stamped"};

sim::CaptureSettings settings_for(const std::string& profile) {
    const auto read = sim::read_profile(LINKDRILL_SOURCE_DIR "/scenarios/profiles/" + profile + ".toml");
    REQUIRE(read);
    sim::CaptureSettings settings;
    for (sim::CapturedEnd* end : {&settings.controller, &settings.device}) {
        const bool controller = end == &settings.controller;
        end->name = controller ? "press controller" : "press I/O";
        proto::LinkSettings& link = end->link;
        link.end = controller ? proto::End::controller : proto::End::device;
        link.profile = read.value();
        link.own_address = controller ? 0x101 : 0x202;
        link.peer_address = controller ? 0x202 : 0x101;
        link.payload_sent = link.payload_received = read.value().payload_bytes;
        const bool stream = profile == "crc32_feedback" || profile == "crc32_stamped";
        link.exchange = stream ? proto::Exchange::streaming : proto::Exchange::polled;
        end->bits = {{"curtain_free", sim::Direction::to_controller, {0, 0}},
                     {"closing_allowed", sim::Direction::to_device, {1, 7}}};
    }
    return settings;
}

/// The controller's telegram under that number.
Bytes telegram(const sim::TelegramReader& reader, std::uint32_t number, std::uint8_t status = 0) {
    const sim::TelegramView& view = reader.view(Hop::controller_to_channel);
    Bytes payload(view.payload_bytes(), 0);
    payload[1] = 0x80;
    std::array<std::uint8_t, proto::telegram_bytes_max> room{};
    view.codec().encode({status, number, 77, 1234, 0}, payload, room);
    return {room.begin(), room.begin() + static_cast<std::ptrdiff_t>(view.layout().total_bytes)};
}

Bytes confirm(std::uint32_t first_number) {
    proto::ParameterTelegram parameters;
    parameters.step = proto::ParameterTelegram::Step::confirm;
    parameters.controller_number = 5;
    parameters.device_number = 6;
    parameters.start_number = first_number;
    Bytes out(proto::parameter_telegram_bytes);
    encode(parameters, std::span<std::uint8_t, proto::parameter_telegram_bytes>(out));
    return out;
}

/// Read as the device receives it, the handshake before it.
struct Read {
    sim::TelegramSeen seen;
    std::vector<ExplainedField> fields;
    [[nodiscard]] const ExplainedField* find(const std::string& name) const {
        for (const ExplainedField& field : fields)
            if (field.name == name) return &field;
        return nullptr;
    }
    [[nodiscard]] std::vector<std::string> wrong() const {
        std::vector<std::string> names;
        for (const ExplainedField& field : fields)
            if (field.differs()) names.push_back(field.name);
        return names;
    }
};
Read read(sim::TelegramReader& reader, const Bytes& bytes, std::uint32_t first_number = 8) {
    const Bytes start = confirm(first_number);
    const auto handshake = reader.read(1, Hop::channel_to_device, start);
    CHECK(handshake.verdict.kind == Kind::handshake);
    reader.concluded(1, handshake, Kind::handshake);
    Read out;
    out.seen = reader.read(1, Hop::channel_to_device, bytes);
    out.fields = sim::explain(reader.view(Hop::channel_to_device), out.seen, bytes);
    return out;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("a whole telegram of every profile that ships is accepted, and nothing differs") {
    for (const char* profile : shipped) {
        CAPTURE(profile);
        const sim::CaptureSettings settings = settings_for(profile);
        sim::TelegramReader reader(settings);
        const Bytes bytes = telegram(reader, 8);
        const Read got = read(reader, bytes);
        CHECK(got.seen.verdict.kind == Kind::fresh);
        CHECK(got.seen.number == 8);
        CHECK(got.wrong().empty());
        // every byte is in exactly one field, or in a copy
        std::size_t bits = 0;
        for (const ExplainedField& field : got.fields) bits += field.first_bit ? field.bits : 0U;
        CHECK(bits == bytes.size() * 8);
        REQUIRE(got.find("CRC"));
        CHECK(got.find("CRC")->covered == ExplainedField::Covered::value);
        REQUIRE(got.find("payload"));
        CHECK(got.find("payload")->meaning.find("closing_allowed 1 (1.7)") == 0);
        CHECK(got.find("payload")->covered == ExplainedField::Covered::yes);
        CHECK(got.find("status")->meaning.find("from the controller; no safe state") == 0);
    }
}

TEST_CASE("implied fields are explained as fed to the CRC and not in the bytes") {
    const sim::CaptureSettings addresses = settings_for("crc24_implied");
    sim::TelegramReader reader(addresses);
    const Read got = read(reader, telegram(reader, 8));
    for (const char* name : {"source", "destination"}) {
        REQUIRE(got.find(name));
        CHECK_FALSE(got.find(name)->first_bit);
        CHECK(got.find(name)->bytes.empty());
        CHECK(got.find(name)->covered == ExplainedField::Covered::implied);
    }
    CHECK(got.find("source")->meaning == "0x0101 (257)");
    CHECK(got.find("CRC")->meaning.find("over source, destination, bytes 0-7") != std::string::npos);

    const sim::CaptureSettings number = settings_for("crc32_implied_number");
    sim::TelegramReader counting(number);
    const Read fits = read(counting, telegram(counting, 8));
    CHECK(fits.find("number")->meaning == "8: the CRC fits; tried as allowed: 8, 7");
    const Read wrong = read(counting, telegram(counting, 12));
    CHECK_FALSE(wrong.seen.number);
    CHECK(wrong.seen.verdict.failed.has(proto::Measure::integrity));
    CHECK(wrong.wrong() == Names{"CRC"});
    CHECK(wrong.find("number")->meaning.find("fits none that is allowed") != std::string::npos);
}

TEST_CASE("without a handshake an implied number is said not to be known") {
    const sim::CaptureSettings settings = settings_for("crc32_implied_number");
    sim::TelegramReader reader(settings);
    const Bytes bytes = telegram(reader, 8);
    const auto seen = reader.read(1, Hop::channel_to_device, bytes);
    CHECK(seen.unknown);
    const auto fields = sim::explain(reader.view(Hop::channel_to_device), seen, bytes);
    for (const ExplainedField& field : fields) CHECK_FALSE(field.differs());
    CHECK(fields[0].meaning.find("not known") == 0);
}

TEST_CASE("a bent field shows in the CRC, in its own comparison and in the second copy") {
    for (const char* profile : shipped) {
        CAPTURE(profile);
        const sim::CaptureSettings settings = settings_for(profile);
        sim::TelegramReader reader(settings);
        const sim::TelegramView& view = reader.view(Hop::channel_to_device);
        const proto::FieldPlaces places = proto::places_of(view.profile(), view.payload_bytes());
        const bool twice = view.profile().copies == 2;
        const auto bent = [&](proto::FieldPlace place) {
            Bytes bytes = telegram(reader, 8);
            bytes[place.first_bit / 8] =
                static_cast<std::uint8_t>(bytes[place.first_bit / 8] ^ 0x80U >> place.first_bit % 8);
            return read(reader, bytes);
        };
        const auto with_copy = [twice](Names names) {
            if (twice) names.emplace_back("second copy");
            return names;
        };
        const Read payload = bent(places.payload);
        CHECK(payload.wrong() == with_copy({"CRC"}));
        CHECK(payload.seen.verdict.kind == Kind::rejected);
        CHECK(payload.seen.verdict.failed.first() == (twice ? proto::Measure::cross_check : proto::Measure::integrity));
        const Read crc = bent(places.crc);
        CHECK(crc.wrong() == with_copy({"CRC"}));
        CHECK(crc.find("CRC")->expected == read(reader, telegram(reader, 8)).find("CRC")->found);
        if (places.source.bits != 0) CHECK(bent(places.source).wrong() == with_copy({"source", "CRC"}));
        if (places.destination.bits != 0) CHECK(bent(places.destination).wrong() == with_copy({"destination", "CRC"}));
        if (twice) {
            Bytes bytes = telegram(reader, 8);
            bytes.back() ^= 1;
            const Read second = read(reader, bytes);
            CHECK(second.wrong() == Names{"second copy"});
            CHECK(second.find("second copy")->meaning.find("differs in byte " + std::to_string(bytes.size() - 1)) !=
                  std::string::npos);
        }
    }
}

TEST_CASE("numbers are followed: new, repeat, out of order, and from a new start on") {
    const sim::CaptureSettings settings = settings_for("crc32_carried");
    sim::TelegramReader reader(settings);
    const auto judged = [&](std::uint32_t number) {
        const auto seen = reader.read(1, Hop::channel_to_device, telegram(reader, number));
        reader.concluded(1, seen, seen.verdict.kind);
        return seen.verdict.kind;
    };
    CHECK(read(reader, telegram(reader, 65535), 65535).seen.verdict.kind == Kind::fresh);
    CHECK(judged(65535) == Kind::fresh);
    CHECK(judged(65535) == Kind::repeat);
    CHECK(judged(0) == Kind::fresh);
    CHECK(judged(65535) == Kind::rejected);
    CHECK(judged(2) == Kind::rejected);
    CHECK(judged(1) == Kind::fresh);
    // said again in the same connection the handshake changes nothing
    static_cast<void>(read(reader, telegram(reader, 2), 65535));
    CHECK(judged(2) == Kind::fresh);
}

TEST_CASE("wrong lengths are explained as far as fields are whole") {
    const sim::CaptureSettings settings = settings_for("crc32_carried");
    sim::TelegramReader reader(settings);
    const Bytes whole = telegram(reader, 8);
    for (std::size_t size = 0; size <= whole.size() + 3; ++size) {
        Bytes bytes = whole;
        bytes.resize(size);
        const Read got = read(reader, bytes);
        if (size == whole.size()) continue;
        CAPTURE(size);
        CHECK(got.seen.kind == sim::TelegramSeen::Kind::strange);
        CHECK(got.wrong() == Names{"length"});
        std::size_t bits = 0;
        for (const ExplainedField& field : got.fields) bits += field.first_bit ? field.bits : 0U;
        CHECK(bits == size * 8);
    }
}

TEST_CASE("a parameter telegram is explained in full, whole and bent") {
    const sim::CaptureSettings settings = settings_for("crc32_carried");
    sim::TelegramReader reader(settings);
    Bytes bytes = confirm(4711);
    Read got = read(reader, bytes);
    CHECK(got.seen.kind == sim::TelegramSeen::Kind::parameter);
    CHECK(got.wrong().empty());
    CHECK(got.find("first sequence number")->meaning == "4711");
    CHECK(got.find("step")->meaning == "confirm, of the controller");
    std::size_t bits = 0;
    for (const ExplainedField& field : got.fields) bits += field.bits;
    CHECK(bits == proto::parameter_telegram_bytes * 8);
    bytes[33] ^= 1;
    got = read(reader, bytes);
    CHECK(got.wrong() == Names{"signature", "CRC"});
    CHECK(got.seen.verdict.kind == Kind::rejected);
}

TEST_CASE("any bytes at all are read and explained without harm") {
    const sim::Random draws(4, sim::Concern::fault_place, 0);
    std::uint64_t drawn = 0;
    for (const char* profile : shipped) {
        const sim::CaptureSettings settings = settings_for(profile);
        sim::TelegramReader reader(settings);
        for (int round = 0; round < 500; ++round) {
            Bytes bytes = round % 3 == 0 ? confirm(1) : telegram(reader, 8);
            if (round % 2 == 0) bytes.resize(draws.at(drawn++) % 305);
            for (int i = 0; i < 3 && !bytes.empty(); ++i) {
                const std::uint64_t draw = draws.at(drawn++);
                bytes[draw % bytes.size()] = static_cast<std::uint8_t>(draw >> 32);
            }
            for (const Hop hop : {Hop::channel_to_device, Hop::channel_to_controller}) {
                const auto seen = reader.read(static_cast<std::uint64_t>(hop), hop, bytes);
                reader.concluded(static_cast<std::uint64_t>(hop), seen, seen.verdict.kind);
                CHECK(sim::explain(reader.view(hop), seen, bytes).size() < 60);
            }
        }
    }
}

TEST_CASE("what a capture says of itself is read back, whatever the names hold") {
    for (const char* profile : shipped) {
        sim::CaptureSettings settings = settings_for(profile);
        settings.version = "0.1.0";
        settings.title = "A \"press\"\\ \x01 with a tab\t, line\n end, and \xC3\xA4";
        settings.scenario_file = "it's here.toml";
        settings.seed = ~std::uint64_t{0};
        settings.digest = 0x0123456789ABCDEF;
        settings.live = true;
        settings.begun_ns = 1'800'000'000'123'456'789;
        settings.device.link.max_lag = 3;
        settings.device.link.missing_allowed = 2;
        settings.device.link.byte_order = proto::ByteOrder::low_first;
        const std::string text = written(settings);
        CHECK(text.find(sim::settings_mark) == 0);
        CHECK(text.find(sim::digest_text(settings.digest)) != std::string::npos);
        const auto read = sim::read_capture_settings(text, "a.pcapng");
        REQUIRE(read);
        CHECK(written(read.value()) == text);
        CHECK(read.value().title == settings.title);
        CHECK(read.value().seed == settings.seed);
        CHECK(identity_of(read.value().controller.link.profile) == identity_of(settings.controller.link.profile));
        // damage is told, with the capture's name
        for (std::size_t at = 0; at < text.size(); at += 7) {
            const auto cut = sim::read_capture_settings(text.substr(0, at), "a.pcapng");
            if (!cut) CHECK(cut.error().file == "a.pcapng");
        }
    }
}
