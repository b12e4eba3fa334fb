#pragma once
// Polynomials over GF(2) of degree up to 63: bit i of a word is the coefficient of x^i.
#include <bit>
#include <cstdint>
#include <utility>
#include <vector>

namespace sim::gf2 {

using Polynomial = std::uint64_t;

/// -1 for the zero polynomial.
constexpr int degree(Polynomial p) { return static_cast<int>(std::bit_width(p)) - 1; }

/// Remainder and quotient. Require `by` != 0.
Polynomial remainder(Polynomial p, Polynomial by);
Polynomial quotient(Polynomial p, Polynomial by);

/// a times b; requires that the degrees add up to 63 at most.
Polynomial product(Polynomial a, Polynomial b);
/// a times b modulo m, for a and b of lower degree than m, which is 1..63.
Polynomial product_modulo(Polynomial a, Polynomial b, Polynomial m);
Polynomial power_modulo(Polynomial base, std::uint64_t exponent, Polynomial m);

struct Factor {
    Polynomial polynomial = 0;  ///< irreducible
    unsigned times = 0;
};
/// The irreducible factors, by rising value. Requires a degree of 1..40: it divides by everything up to half of it.
std::vector<Factor> factors_of(Polynomial p);

/// How many elements but 0 there are modulo a polynomial of that degree.
std::uint64_t group_size(Polynomial p);
/// The least e > 0 with a^e = 1 modulo the irreducible polynomial p. Requires that p does not divide a; degree 1..40.
std::uint64_t order_of(Polynomial a, Polynomial p);
/// An element whose powers are everything but 0 modulo the irreducible polynomial p, of degree 1..40.
Polynomial generator_modulo(Polynomial p);

}  // namespace sim::gf2
