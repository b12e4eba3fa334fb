#pragma once
// Which links of a cell a machine or a demand depends on, by the wiring alone.
#include <cstddef>
#include <cstdint>
#include <vector>

namespace sim {

struct WholeCell;

struct LinkWiring {
    /// By link: the links that carry something which this link's machine obeys in the end, one bit each, its own too.
    std::vector<std::uint32_t> hangs_on;
    /// Of those, the ones whose failure alone lets such a signal fall, whatever the mode.
    std::vector<std::uint32_t> fails_with;
    /// By link and safeguard: the other links that its demand crosses on the way to this link's machine, one bit each.
    std::vector<std::vector<std::uint32_t>> crosses;
    /// By link: signals that its controller sends and that are made of what other links bring.
    std::vector<std::uint64_t> passed_on;
    /// A value that the controller has from one link and sends on another one.
    struct PassedValue {
        std::size_t link = 0, value = 0;
        std::size_t from_link = 0, from_value = 0;
    };
    std::vector<PassedValue> values;
};

LinkWiring link_wiring(const WholeCell& cell);

}  // namespace sim
