#include "sim/numeric/wide_number.hpp"

#include <algorithm>
#include <utility>

namespace sim {
namespace {

__extension__ using Double = unsigned __int128;

}  // namespace

WideNumber::WideNumber(std::uint64_t value) {
    if (value != 0) words_.push_back(value);
}

WideNumber::WideNumber(std::vector<std::uint64_t> words) : words_(std::move(words)) { trim(); }

void WideNumber::trim() {
    while (!words_.empty() && words_.back() == 0) words_.pop_back();
}

std::string WideNumber::decimal() const {
    if (words_.empty()) return "0";
    constexpr std::uint64_t group = 1'000'000'000'000'000'000;
    constexpr std::size_t digits = 18;
    std::vector<std::uint64_t> rest = words_;
    std::string backwards;
    while (!rest.empty()) {
        Double left = 0;
        for (std::size_t i = rest.size(); i-- > 0;) {
            left = left << 64 | rest[i];
            rest[i] = static_cast<std::uint64_t>(left / group);
            left %= group;
        }
        while (!rest.empty() && rest.back() == 0) rest.pop_back();
        auto part = static_cast<std::uint64_t>(left);
        for (std::size_t i = 0; i < digits && (part != 0 || !rest.empty()); ++i, part /= 10)
            backwards += static_cast<char>('0' + part % 10);
    }
    std::reverse(backwards.begin(), backwards.end());
    return backwards;
}

ScaledReal WideNumber::approximate() const {
    ScaledReal value;
    const std::size_t count = std::min(words_.size(), std::size_t{3});  // what follows is beyond the type's digits
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t place = words_.size() - count + i;
        value += ScaledReal(words_[place]).times_power_of_two(static_cast<std::int64_t>(place) * 64);
    }
    return value;
}

WideNumber& WideNumber::operator+=(const WideNumber& other) {
    words_.resize(std::max(words_.size(), other.words_.size()) + 1);
    Double carry = 0;
    for (std::size_t i = 0; i < words_.size(); ++i) {
        carry += Double{words_[i]} + (i < other.words_.size() ? other.words_[i] : 0);
        words_[i] = static_cast<std::uint64_t>(carry);
        carry >>= 64;
    }
    trim();
    return *this;
}

WideNumber power_of_two(unsigned exponent) {
    std::vector<std::uint64_t> words(exponent / 64 + 1);
    words.back() = std::uint64_t{1} << (exponent % 64);
    return WideNumber(std::move(words));
}

}  // namespace sim
