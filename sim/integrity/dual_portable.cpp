// Kernels for any processor, and the choice among all.
#include "sim/integrity/dual_lanes.hpp"

namespace sim::dual {

Kernel portable_kernel() {
    using Word = PlainWord<16>;
    return {"portable", 128, memory_words_of<Word>, run_task<Word>};
}

Kernel best_kernel() {
    if (const Kernel widest = avx512_kernel(); widest.lanes != 0) return widest;
    if (const Kernel wide = avx2_kernel(); wide.lanes != 0) return wide;
    return portable_kernel();
}

}  // namespace sim::dual
