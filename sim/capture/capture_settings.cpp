#include "sim/capture/capture_settings.hpp"

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// A basic string of TOML 1.0.
std::string quoted(std::string_view text) {
    std::string out = "\"";
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\') {
            out += '\\';
            out += c;
        } else if (byte < 0x20 || byte == 0x7F) {
            out += "\\u" + written_hex(byte, 4).substr(2);
        } else {
            out += c;
        }
    }
    return out + '"';
}

std::string_view word(bool truth) { return truth ? "true" : "false"; }

std::string_view word(proto::Presence presence) {
    switch (presence) {
        case proto::Presence::absent: return "absent";
        case proto::Presence::carried: return "carried";
        case proto::Presence::implied: return "implied";
    }
    return "?";
}

std::string field(std::string_view name, const proto::Field& field) {
    return std::string(name) + " = { presence = " + quoted(word(field.presence)) +
           ", bits = " + std::to_string(field.bits) + " }\n";
}

/// The keys of a profile's file.
std::string profile_text(const proto::Profile& profile) {
    std::string out = "name = " + quoted(profile.name) + "\n";
    out += "payload = " + std::to_string(profile.payload_bytes) + "\n";
    out += field("address", profile.address) + field("sequence", profile.sequence);
    out += "direction = " + quoted(word(profile.direction)) + "\n";
    if (profile.feedback) out += "feedback = true\n";
    if (profile.time_stamp_bits != 0)
        out += "time_stamp = { bits = " + std::to_string(profile.time_stamp_bits) +
               ", unit = " + quoted(written(profile.time_stamp_unit)) +
               ", kind = " + quoted(profile.time_stamp_kind == proto::StampKind::echo ? "echo" : "clock") + " }\n";
    if (!profile.crc_name.empty()) {
        out += "crc = " + quoted(profile.crc_name) + "\n";
    } else if (profile.crc) {
        const auto hex = [](std::uint64_t value) { return quoted(written_hex(value, 1)); };
        const proto::CrcSpec& crc = *profile.crc;
        out += "crc = { width = " + std::to_string(crc.width) + ", polynomial = " + hex(crc.polynomial) +
               ", initial = " + hex(crc.initial) + ", reflect_in = " + std::string(word(crc.reflect_in)) +
               ", reflect_out = " + std::string(word(crc.reflect_out)) + ", final_xor = " + hex(crc.final_xor) + " }\n";
    }
    if (profile.zero_as_one) out += "zero_as_one = true\n";
    out += "copies = " + std::to_string(profile.copies) + "\n";
    return out;
}

/// Of an end with values; sizes as text, since not every reader of TOML takes 64 bits.
std::string values_text(const CapturedEnd& end) {
    if (end.values.empty()) return "";
    std::string out = "values = [";
    for (const CapturedEnd::Number& value : end.values) {
        const auto number = [](std::int64_t size) { return quoted(std::to_string(size)); };
        out += "\n  { name = " + quoted(value.name) +
               ", way = " + quoted(value.direction == Direction::to_device ? "to-device" : "to-controller") +
               ", type = " + quoted(name_of(value.typed.type)) + ", at = " + std::to_string(value.typed.at) +
               ", order = " + quoted(name_of(value.typed.order)) + ", scale = " + number(value.typed.scale) +
               ", unit = " + quoted(name_of(value.unit)) + ", low = " + number(value.low) +
               ", high = " + number(value.high) + ", safe = " + quoted(name_of(value.safe)) + " },";
    }
    return out + "\n]\n";
}

std::string end_text(const std::string& key, const CapturedEnd& end) {
    const proto::LinkSettings& link = end.link;
    std::string out = "\n[" + key + "]\nname = " + quoted(end.name) + "\n";
    out += "address = " + quoted(as_typed({link.own_address, end.own_digits})) + "\n";
    out += "peer_address = " + quoted(as_typed({link.peer_address, end.peer_digits})) + "\n";
    out += "payload_sent = " + std::to_string(link.payload_sent) + "\n";
    out += "payload_received = " + std::to_string(link.payload_received) + "\n";
    out += "exchange = " + quoted(link.exchange == proto::Exchange::polled ? "polled" : "streaming") + "\n";
    out +=
        "byte_order = " + quoted(link.byte_order == proto::ByteOrder::high_first ? "high-first" : "low-first") + "\n";
    out += "missing_allowed = " + std::to_string(link.missing_allowed) + "\n";
    if (link.max_lag) out += "max_lag = " + std::to_string(*link.max_lag) + "\n";
    out += "bits = [";
    for (const CapturedEnd::Bit& bit : end.bits)
        out += "\n  { signal = " + quoted(bit.signal) +
               ", way = " + quoted(bit.direction == Direction::to_device ? "to-device" : "to-controller") +
               ", byte = " + std::to_string(bit.place.byte) + ", bit = " + std::to_string(bit.place.bit) + " },";
    out += end.bits.empty() ? "]\n" : "\n]\n";
    out += values_text(end);
    return out + "\n[" + key + ".profile]\n" + profile_text(link.profile);
}

CapturedEnd captured(const Scenario& scenario, End which) {
    const TypedEnd& typed = scenario.end(which);
    CapturedEnd end;
    end.name = !typed.name.empty() ? typed.name : which == End::controller ? "controller" : "device";
    end.link = typed.link;
    end.own_digits = typed.own_digits;
    end.peer_digits = typed.peer_digits;
    for (const TypedBit& bit : typed.bits)
        for (const Signal& signal : scenario.signals)
            if (signal.name == bit.signal) end.bits.push_back({bit.signal, signal.direction, bit.place});
    for (std::size_t i = 0; i < scenario.values.all.size(); ++i) {
        const SafeValue& value = scenario.values.all[i];
        end.values.push_back(
            {value.name, value.direction, value.unit, value.low, value.high, value.safe, scenario.values.at(which, i)});
    }
    return end;
}

}  // namespace

CaptureSettings settings_of(const Scenario& scenario) {
    CaptureSettings settings;
    settings.title = scenario.title;
    settings.scenario_file = scenario.file;
    settings.link = scenario.cell_link;
    settings.controller = captured(scenario, End::controller);
    settings.device = captured(scenario, End::device);
    return settings;
}

std::string digest_text(std::uint64_t digest) { return "digest = \"" + written_hex(digest, 16) + "\""; }

std::string written(const CaptureSettings& settings) {
    std::string out = std::string(settings_mark) + "\n";
    out += "version = " + quoted(settings.version) + "\ntitle = " + quoted(settings.title) + "\n";
    out += "scenario = " + quoted(settings.scenario_file) + "\n";
    if (!settings.link.empty()) out += "link = " + quoted(settings.link) + "\n";
    // as text: not every seed is an integer of TOML
    out += "seed = " + quoted(std::to_string(settings.seed)) + "\n" + digest_text(settings.digest) + "\n";
    out += "mode = " + quoted(settings.live ? "live" : "virtual") + "\n";
    out += "begun_ns = " + quoted(std::to_string(settings.begun_ns)) + "\n";
    return out + end_text("controller", settings.controller) + end_text("device", settings.device);
}

}  // namespace sim
