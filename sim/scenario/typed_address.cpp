#include "sim/scenario/typed_address.hpp"

#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// The digits of `a` by 16 are those of `b` by 10.
bool reads_as(const TypedAddress& a, const TypedAddress& b) {
    return written_hex(a.value, 1).substr(2) == std::to_string(b.value);
}

}  // namespace

std::string as_typed(const TypedAddress& address) {
    return address.hex_digits == 0 ? std::to_string(address.value) : written_hex(address.value, address.hex_digits);
}

std::string in_both_bases(const TypedAddress& address) {
    const std::string other = address.hex_digits == 0 ? written_hex(address.value, 1) : std::to_string(address.value);
    return as_typed(address) + " (" + other + ")";
}

std::string digits_that_agree(const TypedAddress& a, const TypedAddress& b) {
    if (a.value == b.value || (!reads_as(a, b) && !reads_as(b, a))) return "";
    const TypedAddress& by_16 = reads_as(a, b) ? a : b;
    const TypedAddress& by_10 = reads_as(a, b) ? b : a;
    if (by_16.hex_digits != 0 && by_10.hex_digits == 0) return "the digits agree: one was typed by 16";
    return "the digits agree by another base: " + written_hex(by_16.value, 1) + " and " + std::to_string(by_10.value) +
           ", so one was perhaps typed by 16";
}

}  // namespace sim
