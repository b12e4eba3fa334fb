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
static_assert(block_at == parameter_head_bytes);

const CrcEngine& engine() {
    static const CrcEngine crc = CrcEngine::make({32, 0xF4ACFB13, 0xFFFFFFFF, false, false, 0xFFFFFFFF}).value();
    return crc;
}

/// What a register becomes once the bytes of a block have passed, as far as that depends on the register: it is linear,
/// so each of its bytes has a part of its own.
class PastBlock {
  public:
    PastBlock() {
        constexpr std::array<std::uint8_t, crc_at - block_at> zeros{};
        for (unsigned k = 0; k < parts_.size(); ++k)
            for (std::uint32_t value = 0; value < 256; ++value)
                parts_[k][value] = static_cast<std::uint32_t>(engine().feed({value << 8 * k}, zeros).bits);
    }
    [[nodiscard]] std::uint32_t of(std::uint32_t bits) const {
        return parts_[0][bits & 0xFF] ^ parts_[1][bits >> 8 & 0xFF] ^ parts_[2][bits >> 16 & 0xFF] ^
               parts_[3][bits >> 24];
    }

  private:
    std::array<std::array<std::uint32_t, 256>, 4> parts_{};
};

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

bool marked(std::span<const std::uint8_t> bytes) {
    return bytes.size() == parameter_telegram_bytes && std::equal(mark.begin(), mark.end(), bytes.begin());
}

/// Requires a telegram with mark and CRC; nothing if a value before the parameters is out of its range.
std::optional<ParameterTelegram> telegram_with(const LinkParameters& parameters, std::span<const std::uint8_t> bytes) {
    const unsigned step = bytes[4], refusal = bytes[5];
    if (step < 1 || step > 4 || refusal >= refusal_count || bytes[6] != 0 || bytes[7] != 0) return std::nullopt;
    ParameterTelegram telegram;
    telegram.step = static_cast<ParameterTelegram::Step>(step);
    telegram.refusal = static_cast<Refusal>(refusal);
    telegram.controller_number = load_be64(bytes.data() + 8);
    telegram.device_number = load_be64(bytes.data() + 16);
    const std::uint64_t number_and_stamp = load_be64(bytes.data() + 24);
    telegram.start_number = static_cast<std::uint32_t>(number_and_stamp >> 32);
    telegram.stamp = static_cast<std::uint32_t>(number_and_stamp);
    telegram.parameters = parameters;
    return telegram;
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

ParameterBlock::ParameterBlock(const LinkParameters& parameters) : parameters_(parameters) {
    const Block block = block_of(parameters);
    static_assert(block_bytes + 4 == std::tuple_size_v<decltype(bytes_)>);
    std::copy(block.begin(), block.end(), bytes_.begin());
    store_be(bytes_.data() + block_bytes, parameter_crc(block), 4);
    own_part_ = static_cast<std::uint32_t>(engine().feed({0}, bytes_).bits);
}

std::uint32_t ParameterBlock::crc_behind(std::span<const std::uint8_t, parameter_head_bytes> head) const {
    static const PastBlock past_block;
    const CrcEngine& crc = engine();
    const auto before = static_cast<std::uint32_t>(crc.feed(crc.start(), head).bits);
    return static_cast<std::uint32_t>(crc.finish({past_block.of(before) ^ own_part_}));
}

void encode(const ParameterTelegram& telegram, std::span<std::uint8_t, parameter_telegram_bytes> out) {
    encode(telegram, ParameterBlock(telegram.parameters), out);
}

void encode(const ParameterTelegram& telegram, const ParameterBlock& own,
            std::span<std::uint8_t, parameter_telegram_bytes> out) {
    std::copy(mark.begin(), mark.end(), out.begin());
    out[4] = static_cast<std::uint8_t>(telegram.step);
    out[5] = static_cast<std::uint8_t>(telegram.refusal);
    out[6] = out[7] = 0;
    store_be64(out.data() + 8, telegram.controller_number);
    store_be64(out.data() + 16, telegram.device_number);
    store_be64(out.data() + 24, std::uint64_t{telegram.start_number} << 32 | telegram.stamp);
    std::copy(own.bytes().begin(), own.bytes().end(), out.begin() + block_at);
    store_be(out.data() + crc_at, own.crc_behind(out.first<parameter_head_bytes>()), 4);
}

std::optional<ParameterTelegram> decode_parameters(std::span<const std::uint8_t> bytes) {
    if (!marked(bytes)) return std::nullopt;
    if (load_be(bytes.data() + crc_at, 4) != parameter_crc(bytes.first(crc_at))) return std::nullopt;
    if (load_be(bytes.data() + signature_at, 4) != parameter_crc(bytes.subspan(block_at, block_bytes)))
        return std::nullopt;
    const auto parameters = parameters_in(bytes.data() + block_at);
    return parameters ? telegram_with(*parameters, bytes) : std::nullopt;
}

std::optional<ParameterTelegram> decode_parameters(std::span<const std::uint8_t> bytes,
                                                   const ParameterBlock& expected) {
    const std::span<const std::uint8_t> known = expected.bytes();
    if (!marked(bytes)) return std::nullopt;
    if (!std::equal(known.begin(), known.end(), bytes.begin() + block_at)) return decode_parameters(bytes);
    if (load_be(bytes.data() + crc_at, 4) != expected.crc_behind(bytes.first<parameter_head_bytes>()))
        return std::nullopt;
    return telegram_with(expected.parameters(), bytes);
}

Refusal first_difference(const LinkParameters& ours, const LinkParameters& theirs) {
    if (ours.profile_identity != theirs.profile_identity) return Refusal::profile;
    if (ours.controller_address != theirs.controller_address) return Refusal::controller_address;
    if (ours.device_address != theirs.device_address) return Refusal::device_address;
    if (ours.controller_address == ours.device_address) return Refusal::device_address;
    if (ours.exchange != theirs.exchange) return Refusal::exchange;
    if (ours.payload_to_device != theirs.payload_to_device) return Refusal::payload_to_device;
    if (ours.payload_to_controller != theirs.payload_to_controller) return Refusal::payload_to_controller;
    if (ours.bits_to_device != theirs.bits_to_device) return Refusal::bits_to_device;
    if (ours.bits_to_controller != theirs.bits_to_controller) return Refusal::bits_to_controller;
    if (ours.byte_order != theirs.byte_order) return Refusal::byte_order;
    if (ours.cycle_us != theirs.cycle_us) return Refusal::cycle;
    if (ours.watchdog_controller_us != theirs.watchdog_controller_us) return Refusal::watchdog_controller;
    if (ours.watchdog_device_us != theirs.watchdog_device_us) return Refusal::watchdog_device;
    if (ours.missing_allowed != theirs.missing_allowed) return Refusal::missing_allowed;
    if (ours.claimed_level != theirs.claimed_level) return Refusal::claimed_level;
    return Refusal::none;
}

}  // namespace proto
