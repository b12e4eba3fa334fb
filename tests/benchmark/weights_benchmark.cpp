// Time for one word of a dual code: the bare loop that everyone begins with (one step of a Gray code and a count
// of ones, no histogram), and whole weight distributions of 2^32 dual words, by each kernel that runs here. Compare
// within one run, interleaved, by the time of the processor ("CPU", of all threads):
//   linkdrill_benchmark --benchmark_filter=dual --benchmark_enable_random_interleaving --benchmark_repetitions=9
// What is asked for: at 256 data bits no more than the bare loop; 0.07 ns a word (0.3 s on two cores) with AVX-512,
// 0.35 ns (1.5 s) with the portable kernel, twice that in time of one core.
#include <benchmark/benchmark.h>

#include <bit>
#include <cstdint>
#include <vector>

#include "sim/integrity/macwilliams.hpp"
#include "sim/integrity/weights.hpp"

namespace {

constexpr sim::Generator ethernet{32, 0x04C11DB7};
constexpr sim::Generator even{32, 0xF4ACFB13};  // x + 1 divides it: half of the words follow from the other half

template <std::size_t Words>
#if defined(__x86_64__)
[[gnu::target("popcnt")]]
#endif
std::uint64_t
gray_steps(const std::vector<std::uint64_t>& rows, std::uint64_t steps) {
    std::uint64_t word[Words] = {};
    std::uint64_t ones = 0;
    for (std::uint64_t i = 1; i <= steps; ++i) {
        const std::uint64_t* const row = rows.data() + static_cast<std::size_t>(std::countr_zero(i)) * Words;
        for (std::size_t j = 0; j < Words; ++j) {
            word[j] ^= row[j];
            ones += static_cast<std::uint64_t>(__builtin_popcountll(word[j]));
        }
    }
    return ones;
}

template <std::size_t Words>
void dual_bare_loop(benchmark::State& state) {
    std::vector<std::uint64_t> rows(32 * Words);
    std::uint64_t filled = 1;
    for (std::uint64_t& row : rows) row = filled = filled * 6'364'136'223'846'793'005ULL + 1;
    constexpr std::uint64_t steps = (std::uint64_t{1} << 22) - 1;
    for (auto _ : state) benchmark::DoNotOptimize(gray_steps<Words>(rows, steps));
    state.counters["ns/word"] = benchmark::Counter(
        static_cast<double>(steps) * 1e-9, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void dual_listed(benchmark::State& state, const sim::Generator& generator, sim::dual::Kernel (*kernel)()) {
    const sim::Effort effort{.threads = static_cast<unsigned>(state.range(1)), .kernel = kernel()};
    if (effort.kernel.lanes == 0) {
        state.SkipWithError("not on this processor");
        return;
    }
    for (auto _ : state)
        benchmark::DoNotOptimize(sim::dual_weights(generator, static_cast<unsigned>(state.range(0)), effort));
    const auto words = static_cast<double>(std::uint64_t{1} << 32);
    state.counters["a word"] =
        benchmark::Counter(words, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void transform(benchmark::State& state) {
    const auto dual = sim::dual_weights({24, 0x5D6DCB}, static_cast<unsigned>(state.range(0)));
    for (auto _ : state) benchmark::DoNotOptimize(sim::transformed(dual, 24));
}

void lengths(benchmark::internal::Benchmark* benchmark) {
    for (const int bits : {64, 256, 1024}) benchmark->Args({bits, 1});
    benchmark->Args({256, 2});
    benchmark->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->Iterations(1);
}

BENCHMARK_TEMPLATE(dual_bare_loop, 2)->Name("dual_bare_loop/96 bits")->Unit(benchmark::kMillisecond);
BENCHMARK_TEMPLATE(dual_bare_loop, 5)->Name("dual_bare_loop/288 bits")->Unit(benchmark::kMillisecond);
BENCHMARK_TEMPLATE(dual_bare_loop, 17)->Name("dual_bare_loop/1056 bits")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(dual_listed, avx512, ethernet, sim::dual::avx512_kernel)->Apply(lengths);
BENCHMARK_CAPTURE(dual_listed, avx512_even, even, sim::dual::avx512_kernel)->Apply(lengths);
BENCHMARK_CAPTURE(dual_listed, avx2, ethernet, sim::dual::avx2_kernel)->Apply(lengths);
BENCHMARK_CAPTURE(dual_listed, portable, ethernet, sim::dual::portable_kernel)->Apply(lengths);
BENCHMARK(transform)->Arg(256)->Arg(1024)->Arg(2376)->Unit(benchmark::kMillisecond);

}  // namespace
