#include "sim/integrity/macwilliams.hpp"

#include <algorithm>
#include <utility>

namespace sim {
namespace {

__extension__ using Double = unsigned __int128;

/// Numbers of one length, reckoned modulo 2^(64 words): wrong on the way, right in the end.
class Table {
  public:
    Table(std::size_t count, std::size_t words) : words_(words), all_(count * words) {}
    std::uint64_t* operator[](std::size_t i) { return all_.data() + i * words_; }
    [[nodiscard]] std::size_t words() const { return words_; }

    void add(std::size_t to, std::size_t from) {
        std::uint64_t* const a = (*this)[to];
        const std::uint64_t* const b = (*this)[from];
        Double carry = 0;
        for (std::size_t i = 0; i < words_; ++i) {
            carry += Double{a[i]} + b[i];
            a[i] = static_cast<std::uint64_t>(carry);
            carry >>= 64;
        }
    }
    void negate(std::size_t which) {
        std::uint64_t* const a = (*this)[which];
        std::uint64_t carry = 1;
        for (std::size_t i = 0; i < words_; ++i) {
            a[i] = ~a[i] + carry;
            carry = carry != 0 && a[i] == 0 ? 1 : 0;
        }
    }
    /// Times 2^bits.
    void scale(std::size_t which, std::size_t bits) {
        std::uint64_t* const a = (*this)[which];
        const std::size_t by = bits / 64, rest = bits % 64;
        for (std::size_t i = words_; i-- > 0;) {
            std::uint64_t value = 0;
            if (i >= by) value = a[i - by] << rest;
            if (rest != 0 && i >= by + 1) value |= a[i - by - 1] >> (64 - rest);
            a[i] = value;
        }
    }
    /// From the coefficients of f(x) to those of f(x + 1), lowest first.
    void shift_by_one(std::size_t count) {
        for (std::size_t i = 0; i + 1 < count; ++i)
            for (std::size_t j = count - 1; j-- > i;) add(j, j + 1);
    }

  private:
    std::size_t words_;
    std::vector<std::uint64_t> all_;
};

}  // namespace

// With A(z) the sum of A_k z^k: 2^width A(z) = sum of B_w (1 - z)^w (1 + z)^(n - w). Written in b = 1 + z, so that
// 1 - z = b - 2z, the sum becomes one over j of C_j (-2z)^j b^(n - j), where the C_j are the coefficients of B shifted
// by one; and opening b again is one more shift, of the coefficients in the opposite order. Additions only.
std::optional<std::vector<WideNumber>> transformed(const std::vector<std::uint64_t>& dual, unsigned width) {
    const std::size_t count = dual.size();
    if (count < 2 || count - 1 < width) return std::nullopt;
    Double sum = 0;
    for (const std::uint64_t each : dual) sum += each;
    if (sum != Double{1} << width || dual[0] == 0) return std::nullopt;

    // 2^width * A_k is under 2^(n + width)
    Table table(count, (count - 1 + width) / 64 + 1);
    for (std::size_t w = 0; w < count; ++w) table[w][0] = dual[w];
    table.shift_by_one(count);
    for (std::size_t j = 0; j < count; ++j) {
        table.scale(j, j);
        if (j % 2 != 0) table.negate(j);
    }
    for (std::size_t low = 0, high = count - 1; low < high; ++low, --high)
        std::swap_ranges(table[low], table[low] + table.words(), table[high]);
    table.shift_by_one(count);

    std::vector<WideNumber> code;
    code.reserve(count);
    const std::size_t skip = width / 64, shift = width % 64;
    for (std::size_t k = 0; k < count; ++k) {
        const std::uint64_t* const from = table[count - 1 - k];
        for (std::size_t i = 0; i < skip; ++i)
            if (from[i] != 0) return std::nullopt;
        if (shift != 0 && from[skip] << (64 - shift) != 0) return std::nullopt;  // no whole number
        std::vector<std::uint64_t> words(table.words() - skip);
        for (std::size_t i = 0; i < words.size(); ++i) {
            words[i] = from[i + skip] >> shift;
            if (shift != 0 && i + skip + 1 < table.words()) words[i] |= from[i + skip + 1] << (64 - shift);
        }
        code.emplace_back(std::move(words));
    }
    return code;
}

}  // namespace sim
