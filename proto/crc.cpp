#include "proto/crc.hpp"

#include "proto/crc_difference.hpp"
#include "proto/crc_faults.hpp"
#include "proto/crc_steps.hpp"

namespace proto {
namespace {

using crc_steps::NarrowHighFirst;
using crc_steps::NarrowLowFirst;
using crc_steps::SliceTables;
using crc_steps::WideHighFirst;
using crc_steps::WideLowFirst;

constexpr std::uint64_t low_ones(unsigned count) {
    return count >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1;
}

template <class Way>
std::shared_ptr<const void> filled_tables(std::uint64_t polynomial) {
    auto tables = std::make_shared<SliceTables<typename Way::Entry>>();
    Way::fill(*tables, static_cast<typename Way::Entry>(polynomial));
    return tables;
}

template <class Way>
std::uint64_t run(const void* tables, std::uint64_t so_far, std::span<const std::uint8_t> bytes) {
    using Entry = typename Way::Entry;
    return Way::feed(*static_cast<const SliceTables<Entry>*>(tables), static_cast<Entry>(so_far), bytes.data(),
                     bytes.size());
}

}  // namespace

std::uint64_t reversed_bits(std::uint64_t value, unsigned count) {
    require(count >= 1 && count <= 64, "reversed_bits: count not 1..64");
    std::uint64_t reversed = 0;
    for (unsigned bit = 0; bit < count; ++bit) reversed |= ((value >> bit) & 1) << (count - 1 - bit);
    return reversed;
}

CrcEngine::CrcEngine() = default;
CrcEngine::CrcEngine(const CrcEngine&) = default;
CrcEngine& CrcEngine::operator=(const CrcEngine&) = default;
CrcEngine::~CrcEngine() = default;

std::optional<CrcSpecError> fault_in(const CrcSpec& spec) {
    if (spec.width < 8 || spec.width > 64) return CrcSpecError::width_out_of_range;
    const std::uint64_t largest = low_ones(spec.width);
    if (spec.polynomial > largest) return CrcSpecError::polynomial_too_wide;
    if ((spec.polynomial & 1) == 0) return CrcSpecError::polynomial_without_one;
    if (spec.initial > largest) return CrcSpecError::initial_too_wide;
    if (spec.final_xor > largest) return CrcSpecError::final_xor_too_wide;
    return std::nullopt;
}

Result<CrcEngine, CrcSpecError> CrcEngine::make(const CrcSpec& spec) {
    if (const auto fault = fault_in(spec)) return *fault;
    const bool narrow = spec.width <= 32;
    CrcEngine engine;
    engine.spec_ = spec;
    if (spec.reflect_in) {
        engine.kind_ = narrow ? Kind::narrow_low_first : Kind::wide_low_first;
    } else {
        engine.kind_ = narrow ? Kind::narrow_high_first : Kind::wide_high_first;
        engine.unused_low_bits_ = (narrow ? 32 : 64) - spec.width;
    }
    const auto as_in_register = [&](std::uint64_t value) {
        return spec.reflect_in ? reversed_bits(value, spec.width) : value << engine.unused_low_bits_;
    };
    engine.start_ = {as_in_register(spec.initial)};
    const std::uint64_t polynomial = as_in_register(spec.polynomial);
    switch (engine.kind_) {
        case Kind::narrow_high_first: engine.tables_ = filled_tables<NarrowHighFirst>(polynomial); break;
        case Kind::narrow_low_first: engine.tables_ = filled_tables<NarrowLowFirst>(polynomial); break;
        case Kind::wide_high_first: engine.tables_ = filled_tables<WideHighFirst>(polynomial); break;
        case Kind::wide_low_first: engine.tables_ = filled_tables<WideLowFirst>(polynomial); break;
    }
    return engine;
}

void CrcEngine::know_differences(std::array<unsigned, 2> message_bytes) {
    std::array<std::shared_ptr<const CrcDifference>, 2> known;
    for (unsigned i = 0; i < known.size(); ++i) {
        const unsigned length = message_bytes[i];
        if (i == 1 && length == message_bytes[0]) break;
        if (length < CrcDifference::bytes) continue;  // so short that a CRC takes no longer
        for (const auto& each : differences_)
            if (each != nullptr && each->message_bytes() == length) known[i] = each;
        if (known[i] == nullptr) known[i] = std::make_shared<const CrcDifference>(*this, length);
    }
    differences_ = known;
}

const CrcDifference* CrcEngine::difference(unsigned message_bytes) const {
    for (const auto& each : differences_)
        if (each != nullptr && each->message_bytes() == message_bytes) return each.get();
    return nullptr;
}

CrcEngine::Register CrcEngine::feed(Register so_far, std::span<const std::uint8_t> bytes) const {
    switch (kind_) {
        case Kind::narrow_high_first: return {run<NarrowHighFirst>(tables_.get(), so_far.bits, bytes)};
        case Kind::narrow_low_first: return {run<NarrowLowFirst>(tables_.get(), so_far.bits, bytes)};
        case Kind::wide_high_first: return {run<WideHighFirst>(tables_.get(), so_far.bits, bytes)};
        case Kind::wide_low_first: return {run<WideLowFirst>(tables_.get(), so_far.bits, bytes)};
    }
    contract_broken("CRC engine of no known kind", __FILE__, __LINE__);
}

}  // namespace proto
