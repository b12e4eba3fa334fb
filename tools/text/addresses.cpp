#include "tools/text/addresses.hpp"

#include <cstdint>

#include "sim/scenario/units.hpp"
#include "tools/text/look_up.hpp"

namespace tools {

Value describe(const sim::TypedAddress& address) {
    return Value::Object{{"value", std::uint64_t{address.value}}, {"typed", as_typed(address)}};
}

Value::List describe(const std::vector<sim::TypedAddress>& addresses) {
    Value::List all;
    for (const sim::TypedAddress& address : addresses) all.push_back(describe(address));
    return all;
}

std::string addresses_in_words(const Value& described, const std::string& otherwise) {
    std::string text;
    for (const Value& one : items_of(described)) {
        const std::string typed(look_up_text(one, "typed"));
        const bool by_16 = typed.starts_with("0x");
        const auto value = static_cast<std::uint32_t>(number_of(look_up(one, "value")).value_or(0));
        const unsigned digits = by_16 ? static_cast<unsigned>(typed.size() - 2) : 0;
        text += (text.empty() ? "" : " and ") + in_both_bases(sim::TypedAddress{value, digits});
    }
    return text.empty() ? otherwise : text;
}

std::string in_hex_alone(const std::vector<sim::TypedAddress>& addresses, const std::string& otherwise) {
    if (addresses.empty()) return otherwise;
    std::string text;
    for (const sim::TypedAddress& address : addresses)
        text += (text.empty() ? "" : " and ") + sim::written_hex(address.value, sim::usual_address_digits);
    return text;
}

}  // namespace tools
