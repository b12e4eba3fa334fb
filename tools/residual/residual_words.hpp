#pragma once
// Figures of the residual error, as people read them.
#include <string>

#include "tools/residual/residual_study.hpp"

namespace tools {

/// Four digits: "2.3283e-10"; "0" only for 0. Values beyond what a double holds are shown all the same.
std::string scientific(double value);
std::string scientific(sim::ScaledReal value);
/// A bit error rate: "0.01", "1e-06".
std::string rate_text(double rate);
/// "1.02", from ten thousand on "1.2e+05".
std::string factor_text(double factor);

/// By how much the customary approximation is too low; 0 where it is 0 itself.
double factor_of(const ResidualRow& row);
/// "0x04C11DB7".
std::string polynomial_of(const sim::Generator& generator);
/// "6", or "at least 6".
std::string hd_text(const ResidualStudy& study);
/// "SIL 3", or "none" for 0.
std::string level_text(unsigned level);

}  // namespace tools
