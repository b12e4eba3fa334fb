#include "tests/support/slow_values.hpp"

#include <map>
#include <utility>

namespace tests {
namespace {

using sim::ValueOrder;
using sim::ValueType;

/// What the bytes of a value are worth, in the order of their places: the power of 256.
const std::map<std::pair<unsigned, ValueOrder>, std::vector<unsigned>>& powers() {
    static const std::map<std::pair<unsigned, ValueOrder>, std::vector<unsigned>> table{
        {{1, ValueOrder::high_first}, {0}},
        {{1, ValueOrder::low_first}, {0}},
        {{2, ValueOrder::high_first}, {1, 0}},
        {{2, ValueOrder::low_first}, {0, 1}},
        {{4, ValueOrder::high_first}, {3, 2, 1, 0}},
        {{4, ValueOrder::low_first}, {0, 1, 2, 3}},
        {{4, ValueOrder::word_swapped}, {1, 0, 3, 2}},
    };
    return table;
}

unsigned size_of(ValueType type) {
    if (type == ValueType::u8) return 1;
    return type == ValueType::u16 || type == ValueType::i16 ? 2 : 4;
}

bool has_sign(ValueType type) { return type == ValueType::i16 || type == ValueType::i32; }

std::int64_t power_of_256(unsigned exponent) {
    std::int64_t power = 1;
    for (unsigned i = 0; i < exponent; ++i) power *= 256;
    return power;
}

}  // namespace

std::int64_t slow_count(ValueType type, ValueOrder order, unsigned at, const std::vector<std::uint8_t>& payload) {
    const std::vector<unsigned>& worth = powers().at({size_of(type), order});
    std::int64_t count = 0;
    for (std::size_t i = 0; i < worth.size(); ++i) count += payload.at(at + i) * power_of_256(worth[i]);
    const std::int64_t all = power_of_256(size_of(type));
    return has_sign(type) && count >= all / 2 ? count - all : count;
}

std::vector<std::uint8_t> slow_payload(ValueType type, ValueOrder order, unsigned at, std::int64_t count,
                                       unsigned bytes, std::uint8_t filler) {
    std::vector<std::uint8_t> payload(bytes, filler);
    const std::vector<unsigned>& worth = powers().at({size_of(type), order});
    const std::int64_t from_zero = count < 0 ? count + power_of_256(size_of(type)) : count;
    for (std::size_t i = 0; i < worth.size(); ++i)
        payload.at(at + i) = static_cast<std::uint8_t>(from_zero / power_of_256(worth[i]) % 256);
    return payload;
}

sim::SafeValue speed_value(const std::string& name) {
    sim::SafeValue value;
    value.name = name;
    value.unit = sim::ValueUnit::speed;
    value.high = 6'553'500;
    value.source.steps = {{{}, 100'000}};
    return value;
}

void add_value(sim::Scenario& scenario, const sim::SafeValue& value, const sim::TypedValue& typed) {
    scenario.values.all.push_back(value);
    for (auto& end : scenario.values.typed) end.push_back(typed);
    for (sim::TypedEnd* end : {&scenario.controller, &scenario.device}) {
        const bool sends = sim::sender(value.direction) == end->link.end;
        for (unsigned i = 0; i < size_of(typed.type); ++i)
            (sends ? end->link.bits_sent : end->link.bits_received).at(typed.at + i) = 0xFF;
    }
}

}  // namespace tests
