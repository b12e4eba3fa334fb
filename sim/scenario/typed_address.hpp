#pragma once
// Addresses of ends, and how somebody typed them: one and the same number looks otherwise by 10 and by 16.
#include <cstdint>
#include <string>

namespace sim {

/// How many hex digits an address is shown with where nobody typed it.
inline constexpr unsigned usual_address_digits = 4;

struct TypedAddress {
    std::uint32_t value = 0;
    unsigned hex_digits = usual_address_digits;  ///< by 16 with at least so many, up to 8; 0: by 10
    friend bool operator==(const TypedAddress&, const TypedAddress&) = default;
};

/// "0x0017", or "23" where it was typed by 10.
std::string as_typed(const TypedAddress& address);
/// With the other base beside it: "0x0017 (23)", "23 (0x17)".
std::string in_both_bases(const TypedAddress& address);

/// Why two that differ may be one: "the digits agree: one was typed by 16". Empty where their digits agree in no base,
/// or where they are the same.
std::string digits_that_agree(const TypedAddress& a, const TypedAddress& b);

}  // namespace sim
