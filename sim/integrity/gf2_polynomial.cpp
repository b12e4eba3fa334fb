#include "sim/integrity/gf2_polynomial.hpp"

namespace sim::gf2 {
namespace {

std::vector<std::uint64_t> prime_factors(std::uint64_t number) {
    std::vector<std::uint64_t> primes;
    for (std::uint64_t p = 2; p * p <= number; ++p) {
        if (number % p != 0) continue;
        primes.push_back(p);
        while (number % p == 0) number /= p;
    }
    if (number > 1) primes.push_back(number);
    return primes;
}

}  // namespace

std::uint64_t group_size(Polynomial p) { return p == 0 ? 0 : (std::uint64_t{1} << degree(p)) - 1; }

Polynomial remainder(Polynomial p, Polynomial by) {
    const int low = degree(by);
    for (int d = degree(p); d >= low; d = degree(p)) p ^= by << (d - low);
    return p;
}

Polynomial quotient(Polynomial p, Polynomial by) {
    const int low = degree(by);
    Polynomial result = 0;
    for (int d = degree(p); d >= low; d = degree(p)) {
        p ^= by << (d - low);
        result |= Polynomial{1} << (d - low);
    }
    return result;
}

Polynomial product(Polynomial a, Polynomial b) {
    Polynomial result = 0;
    for (; b != 0; b &= b - 1) result ^= a << std::countr_zero(b);
    return result;
}

Polynomial product_modulo(Polynomial a, Polynomial b, Polynomial m) {
    const int d = degree(m);
    Polynomial result = 0;
    for (int i = d - 1; i >= 0; --i) {
        result <<= 1;
        if ((result >> d & 1) != 0) result ^= m;
        if ((b >> i & 1) != 0) result ^= a;
    }
    return result;
}

Polynomial power_modulo(Polynomial base, std::uint64_t exponent, Polynomial m) {
    Polynomial result = remainder(1, m);
    base = remainder(base, m);
    for (; exponent != 0; exponent >>= 1) {
        if ((exponent & 1) != 0) result = product_modulo(result, base, m);
        base = product_modulo(base, base, m);
    }
    return result;
}

std::vector<Factor> factors_of(Polynomial p) {
    std::vector<Factor> factors;
    // whatever divides p and has no smaller divisor of p is irreducible
    for (Polynomial by = 2; 2 * degree(by) <= degree(p); ++by) {
        unsigned times = 0;
        for (; remainder(p, by) == 0 && degree(p) > 0; ++times) p = quotient(p, by);
        if (times != 0) factors.push_back({by, times});
    }
    if (degree(p) <= 0) return factors;
    if (!factors.empty() && factors.back().polynomial == p)
        ++factors.back().times;
    else
        factors.push_back({p, 1});
    return factors;
}

std::uint64_t order_of(Polynomial a, Polynomial p) {
    const Polynomial one = remainder(1, p);
    std::uint64_t order = group_size(p);
    for (const std::uint64_t prime : prime_factors(order))
        while (order % prime == 0 && power_modulo(a, order / prime, p) == one) order /= prime;
    return order;
}

Polynomial generator_modulo(Polynomial p) {
    const std::uint64_t size = group_size(p);
    for (Polynomial a = 1;; ++a)
        if (remainder(a, p) != 0 && order_of(remainder(a, p), p) == size) return remainder(a, p);
}

}  // namespace sim::gf2
