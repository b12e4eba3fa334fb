#pragma once
// What the enumeration of dual words looks like to its caller, whatever instructions it is made of.
//
// The words orthogonal to all code words of a cyclic code with generator g, cut to n places, are the windows of n bits
// of all sequences that the shift register of g can give. A kernel runs many registers side by side, one in each bit
// of a wide word, and notes how many ones each window has: from one window to the next one bit comes in and one goes.
#include <cstddef>
#include <cstdint>

namespace sim::dual {

/// The bits of a sequence follow from those before: bit t + degree is the sum of the bits t + tap.
struct Recurrence {
    const unsigned* taps = nullptr;  ///< rising, the first is 0
    unsigned count = 0;              ///< of taps, at least 1
    unsigned degree = 0;
};

/// Registers to run side by side.
struct Task {
    std::uint64_t generator = 0;  ///< with its leading term; degree 1..63
    unsigned window = 0;          ///< n, 1..window_max
    Recurrence recurrence;
    const std::uint64_t* starts = nullptr;  ///< the registers, one a lane; 0 in lanes that are not used
    unsigned used = 0;                      ///< lanes in use, the first ones
    std::uint64_t steps = 0;                ///< windows to look at in each lane, at least 1
    std::uint64_t* histogram = nullptr;     ///< n + 1 counts, added to
    std::uint64_t* memory = nullptr;        ///< kernel's memory_words, aligned to 64 bytes; contents do not matter
};

/// Longest window.
inline constexpr unsigned window_max = 2844;

struct Kernel {
    const char* name = "";
    unsigned lanes = 0;
    std::size_t (*memory_words)(unsigned window, unsigned recurrence_degree) = nullptr;
    void (*run)(const Task& task) = nullptr;
};

/// Any processor.
Kernel portable_kernel();
/// Only where the compiler made it and this processor has it; else a kernel without lanes.
Kernel avx2_kernel();
Kernel avx512_kernel();
/// The fastest one here.
Kernel best_kernel();

}  // namespace sim::dual
