// Nanoseconds a message for the message sizes of safety telegrams: ours, zlib's crc32 and boost::crc.
// "independent": each message starts afresh, so that the processor may overlap them. "dependent": each starts from the
// register that the one before left. Compare only within one run, interleaved:
//   crc_benchmark --benchmark_enable_random_interleaving --benchmark_repetitions=9 --benchmark_report_aggregates_only
#include <benchmark/benchmark.h>
#include <zlib.h>

#include <array>
#include <boost/crc.hpp>
#include <cstddef>
#include <cstdint>
#include <random>
#include <span>

#include "proto/crc.hpp"
#include "proto/crc_catalogue.hpp"

namespace {

constexpr std::size_t slot_bytes = 64;
constexpr std::size_t slots = 256;  // 16 kB: stays in the first-level cache beside the tables

const std::array<std::uint8_t, slot_bytes * slots>& message_store() {
    static const auto store = [] {
        std::array<std::uint8_t, slot_bytes * slots> filled{};
        std::mt19937_64 draws(1);
        for (std::uint8_t& byte : filled) byte = static_cast<std::uint8_t>(draws() >> 56);
        return filled;
    }();
    return store;
}

std::span<const std::uint8_t> message(std::size_t number, std::size_t length) {
    return std::span<const std::uint8_t>(message_store()).subspan(number * slot_bytes, length);
}

/// Runs `one(length-byte span)` over all slots; the time shown is for one message.
template <class One>
void over_all_slots(benchmark::State& state, One one) {
    const auto length = static_cast<std::size_t>(state.range(0));
    while (state.KeepRunningBatch(static_cast<benchmark::IterationCount>(slots))) {
        for (std::size_t number = 0; number < slots; ++number) one(message(number, length));
    }
}

proto::CrcEngine engine_named(const char* name) { return proto::CrcEngine::make(proto::find_crc(name)->spec).value(); }

void ours_independent(benchmark::State& state, const char* name) {
    const proto::CrcEngine engine = engine_named(name);
    over_all_slots(state, [&](std::span<const std::uint8_t> bytes) { benchmark::DoNotOptimize(engine.over(bytes)); });
}

void ours_dependent(benchmark::State& state, const char* name) {
    const proto::CrcEngine engine = engine_named(name);
    auto so_far = engine.start();
    over_all_slots(state, [&](std::span<const std::uint8_t> bytes) { so_far = engine.feed(so_far, bytes); });
    benchmark::DoNotOptimize(engine.finish(so_far));
}

void zlib_independent(benchmark::State& state) {
    over_all_slots(state, [](std::span<const std::uint8_t> bytes) {
        benchmark::DoNotOptimize(crc32(0, bytes.data(), static_cast<uInt>(bytes.size())));
    });
}

void zlib_dependent(benchmark::State& state) {
    uLong so_far = 0;
    over_all_slots(state, [&](std::span<const std::uint8_t> bytes) {
        so_far = crc32(so_far, bytes.data(), static_cast<uInt>(bytes.size()));
    });
    benchmark::DoNotOptimize(so_far);
}

void boost_independent(benchmark::State& state) {
    over_all_slots(state, [](std::span<const std::uint8_t> bytes) {
        boost::crc_32_type crc;
        crc.process_bytes(bytes.data(), bytes.size());
        benchmark::DoNotOptimize(crc.checksum());
    });
}

void boost_dependent(benchmark::State& state) {
    boost::crc_32_type crc;
    over_all_slots(state, [&](std::span<const std::uint8_t> bytes) { crc.process_bytes(bytes.data(), bytes.size()); });
    benchmark::DoNotOptimize(crc.checksum());
}

void telegram_sizes(benchmark::internal::Benchmark* benchmark) {
    for (const int bytes : {12, 16, 32, 64}) benchmark->Arg(bytes);
}

BENCHMARK_CAPTURE(ours_independent, crc32_iso_hdlc, "CRC-32/ISO-HDLC")->Apply(telegram_sizes);
BENCHMARK_CAPTURE(ours_dependent, crc32_iso_hdlc, "CRC-32/ISO-HDLC")->Apply(telegram_sizes);
BENCHMARK_CAPTURE(ours_independent, crc24_flexray_a, "CRC-24/FLEXRAY-A")->Apply(telegram_sizes);
BENCHMARK_CAPTURE(ours_dependent, crc24_flexray_a, "CRC-24/FLEXRAY-A")->Apply(telegram_sizes);
BENCHMARK_CAPTURE(ours_independent, crc64_xz, "CRC-64/XZ")->Apply(telegram_sizes);
BENCHMARK_CAPTURE(ours_dependent, crc64_xz, "CRC-64/XZ")->Apply(telegram_sizes);
BENCHMARK(zlib_independent)->Apply(telegram_sizes);
BENCHMARK(zlib_dependent)->Apply(telegram_sizes);
BENCHMARK(boost_independent)->Apply(telegram_sizes);
BENCHMARK(boost_dependent)->Apply(telegram_sizes);

}  // namespace
