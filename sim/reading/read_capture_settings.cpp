#include "sim/reading/capture_settings.hpp"

#include <charconv>

#include "sim/reading/addresses.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/value_places.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {
namespace {

/// A whole number that is written as text.
template <class T>
T number(Section& section, std::string_view key) {
    T value{};
    const std::string text = section.text(key).value_or("");
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size()) section.say(key, "is no whole number in quotes");
    return value;
}

unsigned count(Section& section, std::string_view key, std::int64_t low, std::int64_t high) {
    const auto found = section.integer(key, low, high);
    if (!found) section.missing(key, std::to_string(low));
    return static_cast<unsigned>(found.value_or(low));
}

void read_signals(Section& section, CapturedEnd& end) {
    for (Section& each : section.tables("bits")) {
        if (end.bits.size() >= names_max) return;
        CapturedEnd::Bit bit;
        bit.signal = each.text("signal").value_or("");
        bit.direction = each.choice<Direction>("way", {{"to-device", Direction::to_device},
                                                       {"to-controller", Direction::to_controller}})
                            .value_or(Direction::to_device);
        bit.place.byte = count(each, "byte", 0, proto::payload_bytes_max - 1);
        bit.place.bit = count(each, "bit", 0, 7);
        each.finish();
        end.bits.push_back(std::move(bit));
    }
}

void read_values(Section& section, CapturedEnd& end) {
    for (Section& each : section.tables("values")) {
        if (end.values.size() >= values_max) return;
        CapturedEnd::Number value;
        value.name = each.text("name").value_or("");
        value.direction = each.choice<Direction>("way", {{"to-device", Direction::to_device},
                                                         {"to-controller", Direction::to_controller}})
                              .value_or(Direction::to_device);
        value.typed.type = each.choice<ValueType>("type", {{"u8", ValueType::u8},
                                                           {"u16", ValueType::u16},
                                                           {"i16", ValueType::i16},
                                                           {"u32", ValueType::u32},
                                                           {"i32", ValueType::i32}})
                               .value_or(ValueType::u16);
        value.typed.order = read_order(each).value_or(ValueOrder::high_first);
        value.typed.at = count(each, "at", 0, proto::payload_bytes_max - 1);
        value.typed.scale = number<std::int64_t>(each, "scale");
        value.unit = each.choice<ValueUnit>("unit", {{"none", ValueUnit::none},
                                                     {"speed", ValueUnit::speed},
                                                     {"length", ValueUnit::length},
                                                     {"duration", ValueUnit::duration},
                                                     {"angle", ValueUnit::angle},
                                                     {"acceleration", ValueUnit::acceleration}})
                         .value_or(ValueUnit::none);
        value.low = number<std::int64_t>(each, "low");
        value.high = number<std::int64_t>(each, "high");
        value.safe =
            each.choice<SafeEnd>("safe", {{"low", SafeEnd::low}, {"high", SafeEnd::high}}).value_or(SafeEnd::low);
        each.finish();
        if (value.typed.scale <= 0 || value.typed.scale > scale_most(value.typed.type))
            each.say("scale", "is none that a value of its type can have");
        end.values.push_back(std::move(value));
    }
}

CapturedEnd read_end(Section& top, End which, const std::string& path) {
    CapturedEnd end;
    end.link.end = which;
    const std::string_view key = which == End::controller ? "controller" : "device";
    std::optional<Section> section = top.table(key);
    if (!section) {
        top.say(key, "is missing");
        return end;
    }
    end.name = section->text("name").value_or(std::string(key));
    const TypedAddress own = read_address(*section, "address", {}), peer = read_address(*section, "peer_address", {});
    end.link.own_address = own.value;
    end.own_digits = own.hex_digits;
    end.link.peer_address = peer.value;
    end.peer_digits = peer.hex_digits;
    end.link.payload_sent = count(*section, "payload_sent", 1, proto::payload_bytes_max);
    end.link.payload_received = count(*section, "payload_received", 1, proto::payload_bytes_max);
    using proto::ByteOrder, proto::Exchange;
    end.link.exchange =
        section->choice<Exchange>("exchange", {{"polled", Exchange::polled}, {"streaming", Exchange::streaming}})
            .value_or(Exchange::polled);
    end.link.byte_order = section
                              ->choice<ByteOrder>("byte_order", {{"high-first", ByteOrder::high_first},
                                                                 {"low-first", ByteOrder::low_first}})
                              .value_or(ByteOrder::high_first);
    end.link.missing_allowed = count(*section, "missing_allowed", 0, 255);
    if (section->has("max_lag")) end.link.max_lag = count(*section, "max_lag", 0, 0x7FFFFFFF);
    read_signals(*section, end);
    read_values(*section, end);
    if (std::optional<Section> profile = section->table("profile"))
        read_profile_keys(*profile, path, end.link.profile);
    else
        section->say("profile", "is missing");
    section->finish();
    for (const unsigned bytes : {end.link.payload_sent, end.link.payload_received})
        if (!section->problems().any() && !proto::layout_of(end.link.profile, bytes))
            section->say("payload_sent", "does not go with the profile");
    return end;
}

}  // namespace

proto::Result<CaptureSettings, FileError> read_capture_settings(const std::string& text, const std::string& path) {
    const auto damaged = [&path](const FileError& cause) {
        FileError error = cause;
        error.file = path;
        error.line = 0;
        error.message += "; the settings that linkdrill put into this capture are damaged, give --profile FILE";
        return error;
    };
    const proto::Result<Node, FileError> document = document_from(text, path);
    if (!document) return damaged(document.error());
    Problems problems(path);
    Section top(document.value(), "", problems);
    CaptureSettings settings;
    settings.version = top.text("version").value_or("");
    settings.title = top.text("title").value_or("");
    settings.scenario_file = top.text("scenario").value_or("");
    settings.link = top.text("link").value_or("");
    settings.seed = number<std::uint64_t>(top, "seed");
    settings.digest = top.hex("digest", ~std::uint64_t{0}).value_or(0);
    settings.live = top.text("mode") == "live";
    settings.begun_ns = number<std::int64_t>(top, "begun_ns");
    settings.controller = read_end(top, End::controller, path);
    settings.device = read_end(top, End::device, path);
    top.finish();
    if (problems.any()) return damaged(problems.first());
    return settings;
}

}  // namespace sim
