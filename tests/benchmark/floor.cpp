// A controller sends each 4 ms, the telegram arrives after a delay, the device answers 50 us later, the answer arrives
// after another delay; each end has a watchdog that is looked at when it is due. No profile, no checks beyond CRC and
// number, no faults, no observer: the CRC, the draws and the event array are written out for this one case.
#include "tests/benchmark/floor.hpp"

#include <array>
#include <cstring>
#include <vector>

namespace benchmarks {
namespace {

constexpr std::uint64_t cycle = 4'000'000, watchdog = 12'000'000, answer_after = 50'000;
constexpr unsigned data_bytes = 20;  // 24 with the CRC

class SliceBy8 {
  public:
    explicit SliceBy8(std::uint32_t polynomial) {
        for (std::uint32_t i = 0; i < 256; ++i) {
            std::uint32_t c = i << 24;
            for (int k = 0; k < 8; ++k) c = (c >> 31) != 0 ? c << 1 ^ polynomial : c << 1;
            table_[0][i] = c;
        }
        for (unsigned j = 1; j < 8; ++j)
            for (unsigned i = 0; i < 256; ++i) table_[j][i] = table_[j - 1][i] << 8 ^ table_[0][table_[j - 1][i] >> 24];
    }
    [[nodiscard]] std::uint32_t of_20_bytes(const std::uint8_t* at) const {
        std::uint32_t c = 0xFFFFFFFF;
        for (unsigned i = 0; i < 16; i += 8) {
            std::uint64_t v = 0;
            std::memcpy(&v, at + i, 8);
            v = __builtin_bswap64(v);
            const std::uint32_t a = static_cast<std::uint32_t>(v >> 32) ^ c, b = static_cast<std::uint32_t>(v);
            c = table_[7][a >> 24] ^ table_[6][a >> 16 & 255] ^ table_[5][a >> 8 & 255] ^ table_[4][a & 255] ^
                table_[3][b >> 24] ^ table_[2][b >> 16 & 255] ^ table_[1][b >> 8 & 255] ^ table_[0][b & 255];
        }
        std::uint32_t v = 0;
        std::memcpy(&v, at + 16, 4);
        c ^= __builtin_bswap32(v);
        return table_[3][c >> 24] ^ table_[2][c >> 16 & 255] ^ table_[1][c >> 8 & 255] ^ table_[0][c & 255];
    }

  private:
    std::uint32_t table_[8][256] = {};
};

/// xoshiro256++ (Blackman, Vigna), seeded by SplitMix64.
class Generator {
  public:
    explicit Generator(std::uint64_t seed) {
        for (auto& word : s_) {
            seed += 0x9E3779B97F4A7C15ULL;
            std::uint64_t z = seed;
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
            word = z ^ (z >> 31);
        }
    }
    std::uint64_t operator()() {
        const auto turn = [](std::uint64_t x, int k) { return x << k | x >> (64 - k); };
        const std::uint64_t r = turn(s_[0] + s_[3], 23) + s_[0], t = s_[1] << 17;
        s_[2] ^= s_[0];
        s_[3] ^= s_[1];
        s_[1] ^= s_[2];
        s_[0] ^= s_[3];
        s_[2] ^= t;
        s_[3] = turn(s_[3], 45);
        return r;
    }

  private:
    std::array<std::uint64_t, 4> s_{};
};

/// 64 cells of 20 us from 0.2 ms on, with triangular weights; one draw gives the cell and the place in it.
class AliasDelay {
  public:
    AliasDelay() {
        std::array<double, cells> share{};
        double sum = 0;
        for (unsigned i = 0; i < cells; ++i) sum += share[i] = i < 16 ? i + 1 : (64 - i) / 3.0;
        std::vector<unsigned> small, large;
        for (unsigned i = 0; i < cells; ++i) (share[i] *= cells / sum) < 1 ? small.push_back(i) : large.push_back(i);
        for (unsigned i = 0; i < cells; ++i) cell_[i] = {0xFFFFFFFF, i};
        while (!small.empty() && !large.empty()) {
            const unsigned a = small.back(), b = large.back();
            small.pop_back();
            cell_[a] = {static_cast<std::uint32_t>(share[a] * 4294967295.0), b};
            share[b] -= 1 - share[a];
            if (share[b] < 1) {
                large.pop_back();
                small.push_back(b);
            }
        }
    }
    [[nodiscard]] std::uint64_t at(std::uint64_t draw) const {
        const auto i = static_cast<unsigned>(draw >> 58);
        const unsigned cell = static_cast<std::uint32_t>(draw) < cell_[i].below ? i : cell_[i].other;
        return 200'000 + cell * 20'000ULL + ((draw >> 32 & 0xFFFFF) * 20'000 >> 20);
    }

  private:
    static constexpr unsigned cells = 64;
    struct Cell {
        std::uint32_t below;
        unsigned other;
    };
    std::array<Cell, cells> cell_{};
};

enum class Kind : std::uint8_t { tick, request, answer_ready, answer, controller_watchdog, device_watchdog };
struct Event {
    std::uint64_t at;
    std::uint32_t order;
    Kind kind;
    std::uint8_t slot;
};

/// Sorted, the next event last: for a handful of events nothing is faster.
class SortedArray {
  public:
    void push(Event e) {
        unsigned i = count_++;
        for (; i > 0 && (events_[i - 1].at < e.at || (events_[i - 1].at == e.at && events_[i - 1].order < e.order));
             --i)
            events_[i] = events_[i - 1];
        events_[i] = e;
    }
    Event pop() { return events_[--count_]; }

  private:
    Event events_[64] = {};
    unsigned count_ = 0;
};

struct Frame {
    alignas(8) std::uint8_t bytes[32];
};

const SliceBy8 crc(0x04C11DB7);
const AliasDelay delays;

void fill(Frame& frame, std::uint16_t number, std::uint64_t data) {
    const std::uint64_t first = 0x1234ULL | std::uint64_t{number} << 16 | data << 48;
    const std::uint64_t second = data * 0x100000001B3ULL;
    const auto third = static_cast<std::uint32_t>(data >> 16);
    std::memcpy(frame.bytes, &first, 8);
    std::memcpy(frame.bytes + 8, &second, 8);
    std::memcpy(frame.bytes + 16, &third, 4);
    const std::uint32_t value = crc.of_20_bytes(frame.bytes);
    std::memcpy(frame.bytes + data_bytes, &value, 4);
}

bool intact(const Frame& frame) {
    std::uint32_t value = 0;
    std::memcpy(&value, frame.bytes + data_bytes, 4);
    return crc.of_20_bytes(frame.bytes) == value;
}

std::uint16_t number_in(const Frame& frame) {
    std::uint16_t number = 0;
    std::memcpy(&number, frame.bytes + 2, 2);
    return number;
}

}  // namespace

FloorResult bare_loop(std::uint64_t cycles, std::uint64_t seed) {
    FloorResult result;
    Generator draw(seed);
    SortedArray events;
    Frame frames[16];
    std::uint32_t used = 0, order = 0;
    std::uint16_t out = 0, last_heard = 0;
    bool waiting = false;
    std::uint64_t data = 1, sent_at = 0, controller_due = watchdog, device_due = watchdog, now = 0;
    const auto put = [&](std::uint64_t at, Kind kind, std::uint8_t slot) { events.push({at, order++, kind, slot}); };
    const auto send = [&](Kind kind, std::uint16_t number) {
        const auto slot = static_cast<std::uint8_t>(__builtin_ctz(~used));
        used |= 1U << slot;
        fill(frames[slot], number, data);
        put(now + delays.at(draw()), kind, slot);
    };
    const auto receive = [&](std::uint8_t slot) -> int {
        const Frame frame = frames[slot];
        used &= ~(1U << slot);
        return intact(frame) ? number_in(frame) : -1;
    };
    put(0, Kind::tick, 0);
    put(controller_due, Kind::controller_watchdog, 0);
    put(device_due, Kind::device_watchdog, 0);
    const std::uint64_t until = cycles * cycle;
    for (;;) {
        const Event event = events.pop();
        if (event.at >= until) return result;
        now = event.at;
        switch (event.kind) {
            case Kind::tick:
                if (!waiting) ++out, sent_at = now, waiting = true;
                data = data * 6364136223846793005ULL + 1;
                send(Kind::request, out);
                put(now + cycle, Kind::tick, 0);
                break;
            case Kind::request: {
                const int number = receive(event.slot);
                if (number < 0) break;
                if (number != last_heard) device_due = now + watchdog;
                last_heard = static_cast<std::uint16_t>(number);
                put(now + answer_after, Kind::answer_ready, 0);
                break;
            }
            case Kind::answer_ready: send(Kind::answer, last_heard); break;
            case Kind::answer:
                if (receive(event.slot) != out || !waiting) break;
                waiting = false;
                ++result.exchanges;
                result.sum_of_round_trips += now - sent_at;
                controller_due = now + watchdog;
                break;
            case Kind::controller_watchdog:
                if (controller_due <= now) ++result.trips, controller_due = now + watchdog;
                put(controller_due, Kind::controller_watchdog, 0);
                break;
            case Kind::device_watchdog:
                if (device_due <= now) ++result.trips, device_due = now + watchdog;
                put(device_due, Kind::device_watchdog, 0);
                break;
        }
    }
}

}  // namespace benchmarks
