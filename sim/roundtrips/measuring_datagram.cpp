#include "sim/roundtrips/measuring_datagram.hpp"

#include <algorithm>

#include "proto/contract.hpp"

namespace sim {
namespace {

constexpr std::uint8_t mark[] = {0x4C, 0x44};
constexpr std::uint8_t version = 1;
constexpr std::uint8_t filling = 0xA5;  // as many ones as zeros
constexpr std::size_t kind_at = 2, run_at = 3, number_at = 7, after_at = 11;
constexpr std::size_t number_bytes = 4, after_bytes = 5;

void put(std::uint64_t value, std::span<std::uint8_t> into) {
    for (auto byte = into.rbegin(); byte != into.rend(); ++byte) {
        *byte = static_cast<std::uint8_t>(value);
        value >>= 8;
    }
}

std::uint64_t get(std::span<const std::uint8_t> from) {
    std::uint64_t value = 0;
    for (const std::uint8_t byte : from) value = value << 8 | byte;
    return value;
}

}  // namespace

void encode(const MeasuringDatagram& datagram, std::span<std::uint8_t> into) {
    using D = MeasuringDatagram;
    proto::require(into.size() >= D::bytes_least && into.size() <= D::bytes_most, "the size of a measuring datagram");
    std::copy(std::begin(mark), std::end(mark), into.begin());
    into[kind_at] = static_cast<std::uint8_t>(version << 4 | static_cast<std::uint8_t>(datagram.kind));
    put(datagram.run, into.subspan(run_at, number_bytes));
    put(datagram.number, into.subspan(number_at, number_bytes));
    const auto after = std::clamp<std::int64_t>(datagram.answered_after.ns, 0, answered_after_most.ns);
    put(static_cast<std::uint64_t>(after), into.subspan(after_at, after_bytes));
    std::fill(into.begin() + D::bytes_least, into.end(), filling);
}

std::optional<MeasuringDatagram> decode_measuring(std::span<const std::uint8_t> bytes) {
    using D = MeasuringDatagram;
    if (bytes.size() < D::bytes_least || bytes.size() > D::bytes_most) return std::nullopt;
    if (!std::equal(std::begin(mark), std::end(mark), bytes.begin()) || bytes[kind_at] >> 4 != version)
        return std::nullopt;
    const unsigned kind = bytes[kind_at] & 0xFU;
    if (kind < static_cast<unsigned>(D::Kind::ask) || kind > static_cast<unsigned>(D::Kind::farewell))
        return std::nullopt;
    D found;
    found.kind = static_cast<D::Kind>(kind);
    found.run = static_cast<std::uint32_t>(get(bytes.subspan(run_at, number_bytes)));
    found.number = static_cast<std::uint32_t>(get(bytes.subspan(number_at, number_bytes)));
    found.answered_after = {static_cast<std::int64_t>(get(bytes.subspan(after_at, after_bytes)))};
    if (found.kind != D::Kind::answer && found.answered_after.ns != 0) return std::nullopt;
    const auto rest = bytes.subspan(D::bytes_least);
    if (!std::all_of(rest.begin(), rest.end(), [](std::uint8_t byte) { return byte == filling; })) return std::nullopt;
    return found;
}

}  // namespace sim
