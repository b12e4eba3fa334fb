#include "sim/numeric/convolution.hpp"

#include <algorithm>
#include <cstddef>

#include "proto/contract.hpp"

namespace sim {
namespace {

/// [i]: mass in i * step < value <= (i + 1) * step, the first cell with 0 too; the last is all that lies beyond.
std::vector<double> masses(const Tail& tail, double step, std::size_t cells) {
    std::vector<double> mass(cells + 1);
    double above = 1.0;
    for (std::size_t i = 0; i < cells; ++i) {
        const double next = tail(step * static_cast<double>(i + 1));
        mass[i] = above - next;
        above = next;
    }
    mass[cells] = above;
    return mass;
}

/// Of the sum of two indices; what reaches the last one stays there.
std::vector<double> sum(const std::vector<double>& a, const std::vector<double>& b) {
    const std::size_t last = a.size() - 1;
    std::vector<double> from_there(b.size() + 1, 0.0);  // [j]: sum of b from j on
    for (std::size_t j = b.size(); j-- > 0;) from_there[j] = from_there[j + 1] + b[j];
    std::vector<double> c(a.size(), 0.0);
    for (std::size_t i = 0; i <= last; ++i) {
        if (!(a[i] > 0.0)) continue;
        const double weight = a[i];
        double* const to = c.data() + i;
        for (std::size_t j = 0; i + j < last; ++j) to[j] += weight * b[j];
        c[last] += weight * from_there[last - i];
    }
    return c;
}

struct Once {
    double low, high, middle;
};

Once once(const std::vector<Tail>& values, double x, std::size_t cells) {
    const double step = x / static_cast<double>(cells);
    std::vector<double> all = masses(values[0], step, cells);
    for (std::size_t i = 1; i < values.size(); ++i) all = sum(all, masses(values[i], step, cells));
    // `index` cells at least: the values lie between index and index + count steps
    std::vector<double> at_least(all.size() + 1, 0.0);
    for (std::size_t i = all.size(); i-- > 0;) at_least[i] = at_least[i + 1] + all[i];
    const std::size_t count = values.size();
    const std::size_t half = cells - count / 2;
    Once found{at_least[cells], at_least[cells + 1 - count], 0.0};
    // in the middle of the cells the sum of an even number falls on the grid, half of that mass is above
    found.middle = count % 2 == 0 ? at_least[half + 1] + 0.5 * all[half] : at_least[half];
    return found;
}

}  // namespace

SumTail sum_above(const std::vector<Tail>& values, double x, unsigned cells) {
    proto::require(!values.empty() && values.size() <= 16 && x > 0.0 && cells >= 16 && cells <= 20000,
                   "sum_above() out of range");
    const Once whole = once(values, x, cells);
    const Once fine = once(values, x, std::size_t{cells} * 2);
    SumTail found{fine.low, fine.high, 0.0};
    found.estimate = std::clamp(fine.middle + (fine.middle - whole.middle) / 3.0, found.low, found.high);
    return found;
}

}  // namespace sim
