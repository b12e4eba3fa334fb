#pragma once
// Functions that give the same bits on every machine. A library's exp, log or erfc may differ in the last bit from one
// processor to the next, even for one binary (it picks a routine with or without fused multiply-add at run time), and
// one bit can move a table's weight and with it a whole run. These are made of + - * / and the square root only, each
// of which IEEE 754 rounds in exactly one way; contraction into fused operations is switched off for the whole build.
//
// Errors are relative and stated where they were measured by tests/sim/portable_math_test.cpp.
#include <cstdint>

namespace sim {

/// e^x, error below 4e-16; 0 below about -745, infinity above about 709.
double portable_exp(double x);

/// Natural logarithm, error below 4e-16. Requires 0 < x < infinity.
double portable_log(double x);

/// log(1 + x) without the rounding of 1 + x, error below 1e-15. Requires -1 < x < infinity.
double portable_log1p(double x);

/// e^x - 1 without cancellation, error below 1e-15.
double portable_expm1(double x);

/// Decimal logarithm, error below 1e-15 of the larger of it and 1; whole for a power of ten and its nearest neighbours.
/// Requires 0 < x < infinity.
double portable_log10(double x);

/// base^power by squaring, relative error below 3e-16 times the power.
double whole_power(double base, std::uint64_t power);

/// 2 / sqrt(pi) times the integral of exp(-t^2) from x to infinity; error below 2e-14 as long as the result is a normal
/// number.
double portable_erfc(double x);

/// Probability that a standard normal value is at most z: erfc(-z / sqrt(2)) / 2. Error below 2e-14 for z > -8; further
/// out the argument's own rounding shows.
double normal_below(double z);

/// Probability that a gamma distributed value of that shape and scale 1 is at most x (the regularised incomplete gamma
/// function P). Requires 0.05 <= shape <= 10000 and 0 <= x < infinity. Error below 5e-14 for shapes up to 1000 as long
/// as the result is above 1e-12; in the far tail it grows with the logarithm of the result.
double gamma_below(double shape, double x);
/// Probability of more: 1 - gamma_below(), without cancellation.
double gamma_above(double shape, double x);

}  // namespace sim
