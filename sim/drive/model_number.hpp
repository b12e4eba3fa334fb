#pragma once
// What the simulation comes to, as one number: raised by hand whenever a golden fingerprint changes. Stores of
// campaigns carry it: trials of two programs with one number are of one kind and can be joined, whatever their commits,
// compilers and kernels; those of two numbers cannot. tests/golden/models.txt lists the fingerprints that each number
// stood for.
#include <cstdint>

namespace sim {

inline constexpr std::uint64_t model_number = 2;

}  // namespace sim
