// A million telegrams written as a capture, beside the same bytes in the same pieces through a buffered stream of the C
// library. Both go to a file that nobody sees. `capture_ratio` alternates the two in one run.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <vector>

#include <unistd.h>

#include "sim/capture/capture_writer.hpp"

namespace {

constexpr unsigned telegrams = 1'000'000;
constexpr std::size_t telegram_bytes = 24;

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;
File file_of_nobody() { return {std::tmpfile(), std::fclose}; }

class Sink final : public sim::ByteSink {
  public:
    explicit Sink(std::FILE* file) : descriptor_(fileno(file)) {}
    bool write(std::span<const std::uint8_t> bytes) override {
        written += bytes.size();
        while (!bytes.empty()) {
            const ssize_t count = ::write(descriptor_, bytes.data(), bytes.size());
            if (count <= 0) return false;
            bytes = bytes.subspan(static_cast<std::size_t>(count));
        }
        return true;
    }
    bool overwrite(std::uint64_t, std::span<const std::uint8_t>) override { return true; }
    std::uint64_t written = 0;

  private:
    int descriptor_;
};

std::array<std::uint8_t, telegram_bytes> telegram(unsigned number) {
    std::array<std::uint8_t, telegram_bytes> bytes{};
    for (unsigned i = 0; i < telegram_bytes; ++i) bytes[i] = static_cast<std::uint8_t>(number * 31 + i);
    return bytes;
}

/// Every second telegram arrives at an end and waits for what that makes of it; one in a hundred gets a comment.
std::uint64_t capture() {
    const File file = file_of_nobody();
    Sink sink(file.get());
    const sim::SocketAddress controller = sim::ipv4({192, 0, 2, 1}, 49701), device = sim::ipv4({192, 0, 2, 2}, 49702);
    const std::array makers{sim::pcapng::PacketMaker(0, controller, device),
                            sim::pcapng::PacketMaker(1, controller, device)};
    sim::pcapng::Buffer head;
    sim::pcapng::put_section(head, "benchmark", {});
    for (unsigned i = 0; i < 2; ++i) sim::pcapng::put_interface(head, {});
    sim::CaptureWriter writer(sink, std::move(head));
    using Comment = sim::CaptureWriter::Comment;
    sim::CaptureWriter::Number waiting = 0;
    for (unsigned i = 0; i < telegrams; ++i) {
        const bool arrives = i % 2 != 0;
        if (waiting != 0 && !arrives) {
            if (i % 100 == 0) writer.remark(waiting, "Injection 1 (corruption, 3 bits): altered on its way.");
            writer.close(waiting);
        }
        const auto number = writer.add(makers[i % 2], std::uint64_t{i} * 1'000'000, telegram(i),
                                       arrives ? Comment::to_come : Comment::none);
        if (arrives) waiting = number;
    }
    if (!writer.finish({}, {})) std::abort();
    return sink.written;
}

std::uint64_t bare() {
    const File file = file_of_nobody();
    std::vector<char> buffer(std::size_t{256} * 1024);
    std::setvbuf(file.get(), buffer.data(), _IOFBF, buffer.size());
    std::array<std::uint8_t, sim::pcapng::packet_block_bytes(28 + telegram_bytes)> block{};
    for (unsigned i = 0; i < telegrams; ++i) {
        const auto bytes = telegram(i);
        std::copy(bytes.begin(), bytes.end(), block.begin());
        if (std::fwrite(block.data(), 1, block.size(), file.get()) != block.size()) std::abort();
    }
    if (std::fflush(file.get()) != 0) std::abort();
    return std::uint64_t{telegrams} * block.size();
}

void capture_writer(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(capture());
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(telegrams));
}

void capture_ratio(benchmark::State& state) {
    const auto spent = [] {
        timespec t{};
        clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
        return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
    };
    std::vector<double> ratios;
    for (auto _ : state) {
        const double t0 = spent();
        const std::uint64_t plain = bare();
        const double t1 = spent();
        const std::uint64_t written = capture();
        const double t2 = spent();
        if (written < plain) std::abort();
        ratios.push_back((t2 - t1) / (t1 - t0));
    }
    std::sort(ratios.begin(), ratios.end());
    state.counters["median"] = ratios[ratios.size() / 2];
    state.counters["least"] = ratios.front();
    state.counters["most"] = ratios.back();
}

BENCHMARK(capture_writer)->Unit(benchmark::kMillisecond);
BENCHMARK(capture_ratio)->Unit(benchmark::kMillisecond)->Iterations(11);

}  // namespace
