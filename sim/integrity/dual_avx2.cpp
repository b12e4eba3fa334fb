// Compiled for AVX2 (CMakeLists.txt); called only where the processor has it.
#include "sim/integrity/dual_kernel.hpp"

#if defined(__AVX2__)
#include "sim/integrity/dual_lanes.hpp"

namespace sim::dual {

Kernel avx2_kernel() {
    using Word = PlainWord<32>;
    if (__builtin_cpu_supports("avx2") == 0) return {};
    return {"AVX2", 256, memory_words_of<Word>, run_task<Word>};
}

}  // namespace sim::dual
#else
sim::dual::Kernel sim::dual::avx2_kernel() { return {}; }
#endif
