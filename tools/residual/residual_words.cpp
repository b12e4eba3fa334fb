#include "tools/residual/residual_words.hpp"

#include <array>
#include <cstdio>

#include "sim/scenario/units.hpp"

namespace tools {

std::string scientific(long double value) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4Le", value);
    return value == 0 ? "0" : text.data();
}
std::string rate_text(long double rate) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4Lg", rate);
    return text.data();
}
std::string factor_text(long double factor) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), factor < 1e4L ? "%.2Lf" : "%.1Le", factor);
    return text.data();
}
long double factor_of(const ResidualRow& row) {
    return row.customary > 0 ? row.exact.value_or(row.at_most) / row.customary : 0;
}

std::string polynomial_of(const sim::Generator& generator) {
    return sim::written_hex(generator.polynomial, (generator.width + 3) / 4);
}

std::string hd_text(const ResidualStudy& study) {
    return (study.hd_is_bound ? "at least " : "") + std::to_string(study.hd);
}

std::string level_text(unsigned level) { return level == 0 ? "none" : "SIL " + std::to_string(level); }

}  // namespace tools
