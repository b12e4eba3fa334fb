#include "sim/scenario/network.hpp"

#include <algorithm>
#include <bit>

namespace sim {
namespace {

constexpr unsigned address_bits = 32;

/// All the digits of `text` as a number up to `most`; nothing for a leading 0 before other digits.
std::optional<unsigned> number_in(std::string_view text, unsigned most) {
    if (text.empty() || text.size() > 3 || (text.size() > 1 && text.front() == '0')) return std::nullopt;
    unsigned value = 0;
    for (const char digit : text) {
        if (digit < '0' || digit > '9') return std::nullopt;
        value = value * 10 + static_cast<unsigned>(digit - '0');
    }
    return value <= most ? std::optional(value) : std::nullopt;
}

std::string or_empty(const std::optional<std::string>& text) { return text.value_or(""); }
std::string or_empty(const std::optional<Ipv4>& address) { return address ? written(*address) : std::string(); }

}  // namespace

std::string written(Ipv4 address) {
    std::string text;
    for (unsigned shift = address_bits; shift > 0; shift -= 8)
        text += (text.empty() ? "" : ".") + std::to_string(address.bits >> (shift - 8) & 0xFFU);
    return text;
}

std::optional<Ipv4> ipv4_from(std::string_view text) {
    Ipv4 address;
    for (unsigned part = 0; part < 4; ++part) {
        const std::size_t dot = text.find('.');
        if ((dot == std::string_view::npos) != (part == 3)) return std::nullopt;
        const auto number = number_in(text.substr(0, dot), 255);
        if (!number) return std::nullopt;
        address.bits = address.bits << 8U | *number;
        if (part < 3) text.remove_prefix(dot + 1);
    }
    return address;
}

unsigned SubnetMask::length() const { return static_cast<unsigned>(std::countl_one(bits)); }

std::string written(SubnetMask mask) {
    return written(Ipv4{mask.bits}) + (mask.has_holes() ? "" : " (/" + std::to_string(mask.length()) + ")");
}

std::optional<SubnetMask> mask_from(std::string_view text) {
    if (!text.starts_with('/')) {
        const auto dotted = ipv4_from(text);
        return dotted ? std::optional(SubnetMask{dotted->bits}) : std::nullopt;
    }
    const auto length = number_in(text.substr(1), address_bits);
    if (!length) return std::nullopt;
    return SubnetMask{*length == 0 ? 0U : ~0U << (address_bits - *length)};
}

bool ModuleLayout::describes(Direction direction) const {
    return std::any_of(fields.begin(), fields.end(),
                       [&](const ModuleField& field) { return field.direction == direction; });
}

const std::vector<AroundSetting>& around_settings() {
    static const std::vector<AroundSetting> all{
        {"network.ip", "IP address", [](const AroundEnd& e) { return or_empty(e.network.ip); }},
        {"network.mask", "subnet mask",
         [](const AroundEnd& e) { return e.network.mask ? written(Ipv4{e.network.mask->bits}) : std::string(); }},
        {"network.gateway", "gateway", [](const AroundEnd& e) { return or_empty(e.network.gateway); }},
        {"network.station", "station name", [](const AroundEnd& e) { return or_empty(e.network.station); }},
        {"network.peer_ip", "IP address of the other end, as typed here",
         [](const AroundEnd& e) { return or_empty(e.network.peer_ip); }},
        {"network.peer_station", "station name of the other end, as typed here",
         [](const AroundEnd& e) { return or_empty(e.network.peer_station); }},
        {"module", "module", [](const AroundEnd& e) { return or_empty(e.fitted.module); }},
        {"slot", "slot",
         [](const AroundEnd& e) { return e.fitted.slot ? std::to_string(*e.fitted.slot) : std::string(); }},
        {"firmware", "firmware", [](const AroundEnd& e) { return or_empty(e.fitted.firmware); }},
        {"checksum", "checksum of the safety program", [](const AroundEnd& e) { return or_empty(e.fitted.checksum); }},
        {"peer_firmware", "firmware of the other end, as typed here",
         [](const AroundEnd& e) { return or_empty(e.fitted.peer_firmware); }},
        {"peer_checksum", "checksum of the other end, as typed here",
         [](const AroundEnd& e) { return or_empty(e.fitted.peer_checksum); }}};
    return all;
}

bool is_around_setting(std::string_view key) {
    const std::vector<AroundSetting>& all = around_settings();
    return std::any_of(all.begin(), all.end(), [&](const AroundSetting& one) { return one.key == key; });
}

}  // namespace sim
