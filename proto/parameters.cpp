#include "proto/parameters.hpp"

#include <algorithm>

#include "proto/bytes.hpp"

namespace proto {
namespace {

constexpr std::array<std::uint8_t, 4> mark = {0xD1, 'L', 'P', 0x01};
constexpr unsigned block_at = 32;     // where the parameters begin
constexpr unsigned block_bytes = 40;  // and how many bytes they take
constexpr unsigned signature_at = block_at + block_bytes;
constexpr unsigned crc_at = signature_at + 4;
static_assert(crc_at + 4 == parameter_telegram_bytes);

const CrcEngine& engine() {
    static const CrcEngine crc = CrcEngine::make({32, 0xF4ACFB13, 0xFFFFFFFF, false, false, 0xFFFFFFFF}).value();
    return crc;
}

using Block = std::array<std::uint8_t, block_bytes>;

Block block_of(const LinkParameters& p) {
    Block block{};
    std::uint8_t* at = block.data();
    const auto put = [&at](std::uint64_t value, unsigned count) {
        store_be(at, value, count);
        at += count;
    };
    put(p.controller_address, 4);
    put(p.device_address, 4);
    put(p.profile_identity, 4);
    put(p.payload_to_device, 2);
    put(p.payload_to_controller, 2);
    put(p.bits_to_device, 4);
    put(p.bits_to_controller, 4);
    put(p.cycle_us, 4);
    put(p.watchdog_controller_us, 4);
    put(p.watchdog_device_us, 4);
    put(static_cast<std::uint64_t>(p.exchange), 1);
    put(static_cast<std::uint64_t>(p.byte_order), 1);
    put(p.missing_allowed, 1);
    put(p.claimed_level, 1);
    return block;
}

/// Requires block_bytes at `at`; nothing if a value is out of its range.
std::optional<LinkParameters> parameters_in(const std::uint8_t* at) {
    const auto take = [&at](unsigned count) {
        const std::uint64_t value = load_be(at, count);
        at += count;
        return value;
    };
    LinkParameters p;
    p.controller_address = static_cast<std::uint32_t>(take(4));
    p.device_address = static_cast<std::uint32_t>(take(4));
    p.profile_identity = static_cast<std::uint32_t>(take(4));
    p.payload_to_device = static_cast<std::uint16_t>(take(2));
    p.payload_to_controller = static_cast<std::uint16_t>(take(2));
    p.bits_to_device = static_cast<std::uint32_t>(take(4));
    p.bits_to_controller = static_cast<std::uint32_t>(take(4));
    p.cycle_us = static_cast<std::uint32_t>(take(4));
    p.watchdog_controller_us = static_cast<std::uint32_t>(take(4));
    p.watchdog_device_us = static_cast<std::uint32_t>(take(4));
    const std::uint64_t exchange = take(1);
    const std::uint64_t byte_order = take(1);
    if (exchange > 1 || byte_order > 1) return std::nullopt;
    p.exchange = static_cast<Exchange>(exchange);
    p.byte_order = static_cast<ByteOrder>(byte_order);
    p.missing_allowed = static_cast<std::uint8_t>(take(1));
    p.claimed_level = static_cast<std::uint8_t>(take(1));
    return p;
}

}  // namespace

std::uint32_t parameter_crc(std::span<const std::uint8_t> bytes) {
    return static_cast<std::uint32_t>(engine().over(bytes));
}

std::string_view name_of(Refusal refusal) {
    switch (refusal) {
        case Refusal::none: return "nothing";
        case Refusal::profile: return "telegram profile";
        case Refusal::controller_address: return "address of the controller";
        case Refusal::device_address: return "address of the device";
        case Refusal::exchange: return "exchange";
        case Refusal::payload_to_device: return "payload length to the device";
        case Refusal::payload_to_controller: return "payload length to the controller";
        case Refusal::bits_to_device: return "bits used to the device";
        case Refusal::bits_to_controller: return "bits used to the controller";
        case Refusal::byte_order: return "byte order";
        case Refusal::cycle: return "cycle";
        case Refusal::watchdog_controller: return "watchdog of the controller";
        case Refusal::watchdog_device: return "watchdog of the device";
        case Refusal::missing_allowed: return "missing telegrams allowed";
        case Refusal::claimed_level: return "claimed integrity level";
    }
    return "?";
}

std::uint32_t signature_of(const LinkParameters& parameters) { return parameter_crc(block_of(parameters)); }

void encode(const ParameterTelegram& telegram, std::span<std::uint8_t, parameter_telegram_bytes> out) {
    std::copy(mark.begin(), mark.end(), out.begin());
    out[4] = static_cast<std::uint8_t>(telegram.step);
    out[5] = static_cast<std::uint8_t>(telegram.refusal);
    out[6] = out[7] = 0;
    store_be(out.data() + 8, telegram.controller_number, 8);
    store_be(out.data() + 16, telegram.device_number, 8);
    store_be(out.data() + 24, telegram.start_number, 4);
    store_be(out.data() + 28, telegram.stamp, 4);
    const Block block = block_of(telegram.parameters);
    std::copy(block.begin(), block.end(), out.begin() + block_at);
    store_be(out.data() + signature_at, parameter_crc(block), 4);
    store_be(out.data() + crc_at, parameter_crc(out.first(crc_at)), 4);
}

std::optional<ParameterTelegram> decode_parameters(std::span<const std::uint8_t> bytes) {
    if (bytes.size() != parameter_telegram_bytes) return std::nullopt;
    if (!std::equal(mark.begin(), mark.end(), bytes.begin())) return std::nullopt;
    if (load_be(bytes.data() + crc_at, 4) != parameter_crc(bytes.first(crc_at))) return std::nullopt;
    if (load_be(bytes.data() + signature_at, 4) != parameter_crc(bytes.subspan(block_at, block_bytes)))
        return std::nullopt;
    const unsigned step = bytes[4], refusal = bytes[5];
    if (step < 1 || step > 4 || refusal >= refusal_count || bytes[6] != 0 || bytes[7] != 0) return std::nullopt;
    const auto parameters = parameters_in(bytes.data() + block_at);
    if (!parameters) return std::nullopt;
    ParameterTelegram telegram;
    telegram.step = static_cast<ParameterTelegram::Step>(step);
    telegram.refusal = static_cast<Refusal>(refusal);
    telegram.controller_number = load_be(bytes.data() + 8, 8);
    telegram.device_number = load_be(bytes.data() + 16, 8);
    telegram.start_number = static_cast<std::uint32_t>(load_be(bytes.data() + 24, 4));
    telegram.stamp = static_cast<std::uint32_t>(load_be(bytes.data() + 28, 4));
    telegram.parameters = *parameters;
    return telegram;
}

Refusal first_difference(const LinkParameters& a, const LinkParameters& b) {
    if (a.profile_identity != b.profile_identity) return Refusal::profile;
    if (a.controller_address != b.controller_address) return Refusal::controller_address;
    if (a.device_address != b.device_address) return Refusal::device_address;
    if (a.exchange != b.exchange) return Refusal::exchange;
    if (a.payload_to_device != b.payload_to_device) return Refusal::payload_to_device;
    if (a.payload_to_controller != b.payload_to_controller) return Refusal::payload_to_controller;
    if (a.bits_to_device != b.bits_to_device) return Refusal::bits_to_device;
    if (a.bits_to_controller != b.bits_to_controller) return Refusal::bits_to_controller;
    if (a.byte_order != b.byte_order) return Refusal::byte_order;
    if (a.cycle_us != b.cycle_us) return Refusal::cycle;
    if (a.watchdog_controller_us != b.watchdog_controller_us) return Refusal::watchdog_controller;
    if (a.watchdog_device_us != b.watchdog_device_us) return Refusal::watchdog_device;
    if (a.missing_allowed != b.missing_allowed) return Refusal::missing_allowed;
    if (a.claimed_level != b.claimed_level) return Refusal::claimed_level;
    return Refusal::none;
}

}  // namespace proto
