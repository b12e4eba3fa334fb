#include "sim/integrity/low_weights.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <optional>

#include "proto/contract.hpp"

namespace sim {
namespace {

using Place = std::uint16_t;
constexpr std::size_t set_max = 5;  // places that one half of a word has at most
using Set = std::array<Place, set_max>;

/// How many sets of `size` out of `count` things; the type's largest value if that is too many.
std::uint64_t choose(std::uint64_t count, unsigned size) {
    constexpr std::uint64_t many = std::uint64_t{1} << 60;
    if (size > count) return 0;
    std::uint64_t result = 1;
    for (unsigned i = 1; i <= size; ++i) {
        if (result > many / count) return ~std::uint64_t{0};
        result = result * (count - size + i) / i;
    }
    return result;
}

/// Calls each(set, sum of the remainders) for every set of `size` places in 1 .. remainders.size() - 1.
template <class Each>
void for_each_set(const std::vector<std::uint64_t>& remainders, unsigned size, Each each) {
    const std::size_t count = remainders.size();
    Set set{};
    if (size == 0) {
        each(set, std::uint64_t{0});
        return;
    }
    if (count < size + 1) return;
    std::array<std::uint64_t, set_max + 1> sums{};  // of the first places of the set
    unsigned at = 0;
    set[0] = 0;
    while (true) {
        // the next place for this position, from the one after the last on
        ++set[at];
        if (set[at] + (size - at - 1) >= count) {
            if (at == 0) return;
            --at;
            continue;
        }
        sums[at + 1] = sums[at] ^ remainders[set[at]];
        if (at + 1 == size) {
            each(set, sums[size]);
        } else {
            set[at + 1] = set[at];
            ++at;
        }
    }
}

/// All sets of one size, to be found by their sum.
class Sums {
  public:
    struct Entry {
        std::uint64_t sum;
        Set set;
    };

    Sums(const std::vector<std::uint64_t>& remainders, unsigned size) {
        const std::uint64_t count = choose(remainders.size() - 1, size);
        index_bits_ = std::clamp(static_cast<unsigned>(std::bit_width(count)), 4U, 22U);
        begins_.assign((std::size_t{1} << index_bits_) + 1, 0);
        for_each_set(remainders, size, [&](const Set&, std::uint64_t sum) { ++begins_[index_of(sum) + 1]; });
        for (std::size_t i = 1; i < begins_.size(); ++i) begins_[i] += begins_[i - 1];
        entries_.resize(begins_.back());
        std::vector<std::uint32_t> next(begins_.begin(), begins_.end() - 1);
        for_each_set(remainders, size, [&](const Set& set, std::uint64_t sum) {
            entries_[next[index_of(sum)]++] = {sum, set};
        });
    }

    template <class Each>
    void with_sum(std::uint64_t sum, Each each) const {
        const std::size_t index = index_of(sum);
        for (std::uint32_t i = begins_[index]; i < begins_[index + 1]; ++i)
            if (entries_[i].sum == sum) each(entries_[i].set);
    }

  private:
    [[nodiscard]] std::size_t index_of(std::uint64_t sum) const {
        return (sum * 0x9E3779B97F4A7C15ULL) >> (64 - index_bits_);
    }
    unsigned index_bits_;
    std::vector<std::uint32_t> begins_;
    std::vector<Entry> entries_;
};

bool disjoint(const Set& a, unsigned size_a, const Set& b, unsigned size_b) {
    for (unsigned i = 0; i < size_a; ++i)
        for (unsigned j = 0; j < size_b; ++j)
            if (a[i] == b[j]) return false;
    return true;
}

/// Parity of the generator's terms, the leading one included: even if x + 1 divides it, and then all words are even.
bool all_even(const Generator& generator) { return (std::popcount(generator.polynomial) + 1) % 2 == 0; }

/// x to the power of 0, 1, 2 ... modulo the generator.
std::vector<std::uint64_t> remainders_of(const Generator& generator, std::size_t count) {
    const std::uint64_t mask = generator.width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << generator.width) - 1;
    std::vector<std::uint64_t> remainders(count);
    std::uint64_t power = 1 & mask;
    for (std::uint64_t& each : remainders) {
        each = power;
        const bool out = (power >> (generator.width - 1) & 1) != 0;
        power = (power << 1 & mask) ^ (out ? generator.polynomial : 0);
    }
    return remainders;
}

/// Words that a set of `large` places makes with one of the `small` ones in `sums`, once for every such pair. The
/// places of the first one go into `example` if that is empty.
std::uint64_t words_met(const std::vector<std::uint64_t>& remainders, unsigned large, const Sums& sums, unsigned small,
                        std::vector<unsigned>& example) {
    std::uint64_t words = 0;
    for_each_set(remainders, large, [&](const Set& set, std::uint64_t sum) {
        sums.with_sum(sum ^ remainders[0], [&](const Set& other) {
            if (!disjoint(set, large, other, small)) return;
            const unsigned last = std::max<unsigned>(set[large - 1], small == 0 ? 0 : other[small - 1]);
            words += remainders.size() - last;
            if (!example.empty()) return;
            example.push_back(0);
            example.insert(example.end(), set.begin(), set.begin() + large);
            example.insert(example.end(), other.begin(), other.begin() + small);
            std::sort(example.begin(), example.end());
        });
    });
    return words;
}

}  // namespace

unsigned LowWeights::lowest() const {
    for (unsigned k = 1; k < counts.size(); ++k)
        if (!counts[k].is_zero()) return k;
    return 0;
}

// A word of weight k can be moved until its first bit is at place 0; if its last bit is then at place l, it stands for
// n - l words. So the sets of k - 1 places after 0 are searched whose remainders add up to 1, as two halves.
LowWeights low_weights(const Generator& generator, unsigned data_bits, const SearchLimit& limit) {
    const std::size_t bits = std::size_t{data_bits} + generator.width;
    proto::require(generator.width >= 1 && generator.width <= 64 && (generator.polynomial & 1) != 0 && data_bits >= 1 &&
                       bits <= 1U << 16,
                   "low_weights: out of range");
    const std::vector<std::uint64_t> remainders = remainders_of(generator, bits);
    LowWeights result;
    result.counts = {WideNumber(1), WideNumber()};
    std::optional<Sums> sums;
    unsigned sums_size = 0;
    const bool even = all_even(generator);
    for (unsigned weight = 2; weight <= limit.weight_max && weight <= bits; ++weight) {
        if (even && weight % 2 != 0) {
            result.counts.emplace_back();
            continue;
        }
        const unsigned small = (weight - 1) / 2, large = weight - 1 - small;
        constexpr std::uint64_t kept_max = 6'000'000;
        if (large > set_max || choose(bits - 1, large) > limit.sums_max || choose(bits - 1, small) > kept_max) break;
        if (!sums || sums_size != small) {
            sums.emplace(remainders, small);
            sums_size = small;
        }
        // each word is met once for every way to choose its small half
        const std::uint64_t met = words_met(remainders, large, *sums, small, result.example);
        result.counts.emplace_back(met / choose(weight - 1, small));
    }
    while (even && result.counts.size() % 2 != 0 && result.counts.size() <= limit.weight_max &&
           result.counts.size() <= bits)
        result.counts.emplace_back();
    return result;
}

}  // namespace sim
