#pragma once
// The enumeration of dual words, for a kind of wide word. Included by one translation unit for each kind, which is
// compiled for its own instructions: so nothing of the standard library is called in here, or the linker might choose
// the copy made for a processor that is not there. See dual_kernel.hpp.
//
// A lane's weight is held as W = weight - lowest, where the cells 0 .. 8 * Rows - 1 lie around half the window, in
// two's complement, one wide word for each of its bits (a plane). Nearly all weights fall into the cells, which are
// counted by their planes' pattern; those beyond are looked up bit by bit.
#include <cstddef>
#include <cstdint>

#include "sim/integrity/dual_kernel.hpp"

namespace sim::dual {

/// Windows looked at together.
inline constexpr unsigned block = 16;

/// Cells for windows up to `window`: at least 3.4 standard deviations of half the window to either side. `planes` are
/// enough that no weight comes round to a cell again.
template <unsigned RowCount, unsigned CellPlanes, unsigned Planes, unsigned Window>
struct Shape {
    static constexpr unsigned rows = RowCount;           ///< of 8 cells
    static constexpr unsigned cell_planes = CellPlanes;  ///< that tell the cells apart
    static constexpr unsigned planes = Planes;
    static constexpr unsigned window = Window;
    static_assert((1U << Planes) > Window + 8 * RowCount + 1 && (8 * RowCount) <= (1U << CellPlanes));
    static_assert(2 * (4 * RowCount) * (4 * RowCount) >= 6 * Window);  // 4 rows >= 3.46 * sqrt(window) / 2
};
using Shape4 = Shape<4, 5, 7, 79>;
using Shape6 = Shape<6, 6, 8, 177>;
using Shape8 = Shape<8, 6, 9, 320>;
using Shape12 = Shape<12, 7, 10, 720>;
using Shape16 = Shape<16, 7, 11, 1280>;
using Shape24 = Shape<24, 8, 12, window_max>;

/// Bits kept ahead of a window's first one, and how many windows pass before they are moved to the front again.
inline constexpr unsigned least_run = 256;
constexpr std::size_t ahead_of(unsigned window, unsigned degree) { return window > degree ? window : degree; }
constexpr std::size_t run_of(unsigned window, unsigned degree) {
    return ahead_of(window, degree) > least_run ? ahead_of(window, degree) : least_run;
}
template <class Word>
std::size_t memory_words_of(unsigned window, unsigned degree) {
    const std::size_t wide = ahead_of(window, degree) + run_of(window, degree) + std::size_t{2} * block +
                             Word::template tally_words<24>() + 8;
    return wide * sizeof(typename Word::Bits) / sizeof(std::uint64_t);
}

template <class Word, class Form>
struct Lanes {
    using Bits = typename Word::Bits;
    static constexpr unsigned words = sizeof(Bits) / sizeof(std::uint64_t);

    const Task& task;
    Bits* bits;   ///< the sequences from the window's first bit on
    Bits* tally;  ///< what Word counts the cells in
    Bits in_use;
    std::size_t ahead, run;
    int lowest;  ///< weight of cell 0
    Bits weight[Form::planes];
    Bits seen[block][Form::planes];  ///< the weights of a block of windows

    explicit Lanes(const Task& given) : task(given) {
        auto* memory = reinterpret_cast<Bits*>(task.memory);
        ahead = ahead_of(task.window, task.recurrence.degree);
        run = run_of(task.window, task.recurrence.degree);
        tally = memory;
        bits = memory + Word::template tally_words<24>();
        for (unsigned i = 0; i < Word::template tally_words<Form::rows>(); ++i) tally[i] = Word::none();
        lowest = static_cast<int>(task.window / 2) - 4 * static_cast<int>(Form::rows);
        std::uint64_t use[words] = {};
        for (unsigned lane = 0; lane < task.used; ++lane) use[lane / 64] |= std::uint64_t{1} << (lane % 64);
        __builtin_memcpy(&in_use, use, sizeof in_use);
    }

    /// The first bits of all sequences: each is what leaves the top of the register x^t * start mod generator.
    void begin() {
        const auto degree = static_cast<unsigned>(63 - __builtin_clzll(task.generator));
        Bits state[64];
        for (unsigned j = 0; j < degree; ++j) {
            std::uint64_t plane[words] = {};
            for (unsigned lane = 0; lane < 64 * words; ++lane)
                plane[lane / 64] |= (task.starts[lane] >> j & 1) << (lane % 64);
            __builtin_memcpy(&state[j], plane, sizeof state[j]);
        }
        for (std::size_t t = 0; t < ahead; ++t) {
            const Bits out = state[degree - 1];
            bits[t] = out;
            for (unsigned j = degree - 1; j > 0; --j)
                state[j] = (task.generator >> j & 1) != 0 ? Word::differ(state[j - 1], out) : state[j - 1];
            state[0] = out;
        }
        const auto first = static_cast<unsigned>(-lowest) & ((1U << Form::planes) - 1);
        for (unsigned p = 0; p < Form::planes; ++p) weight[p] = (first >> p & 1) != 0 ? Word::all() : Word::none();
        for (std::size_t t = 0; t < task.window; ++t) {
            Bits carry = bits[t];
            for (unsigned p = 0; p < Form::planes; ++p) {
                const Bits up = Word::both(carry, weight[p]);
                weight[p] = Word::differ(weight[p], carry);
                carry = up;
            }
        }
    }

    /// `count` more bits behind the `ahead` ones that begin at `from`.
    void lengthen(Bits* from, unsigned count) const {
        Bits* const base = from + ahead - task.recurrence.degree;
        const unsigned degree = task.recurrence.degree;
        const unsigned* const taps = task.recurrence.taps;
        const unsigned size = task.recurrence.count;
        for (unsigned t = 0; t < count; ++t) {
            const Bits* const at = base + t;
            Bits sum = at[0];
            unsigned k = 1;
            for (; k + 1 < size; k += 2) sum = Word::sum(sum, at[taps[k]], at[taps[k + 1]]);
            if (k < size) sum = Word::differ(sum, at[taps[k]]);
            base[t + degree] = sum;
        }
    }

    /// A weight beyond the cells, of each lane in `far`. Those that were counted in a cell all the same, because only
    /// its lower planes were looked at, are taken out again.
    void look_up(const Bits* planes, const Bits& far) {
        std::uint64_t lanes[words], plane[Form::planes][words];
        __builtin_memcpy(lanes, &far, sizeof far);
        __builtin_memcpy(plane, planes, sizeof plane);
        for (unsigned word = 0; word < words; ++word) {
            for (std::uint64_t left = lanes[word]; left != 0; left &= left - 1) {
                const auto lane = static_cast<unsigned>(__builtin_ctzll(left));
                unsigned w = 0;
                for (unsigned p = 0; p < Form::planes; ++p) w |= static_cast<unsigned>(plane[p][word] >> lane & 1) << p;
                const unsigned weight_here = (w + static_cast<unsigned>(lowest)) & ((1U << Form::planes) - 1);
                ++task.histogram[weight_here];
                uncount(w & ((1U << Form::cell_planes) - 1), 1);
            }
        }
    }

    /// `times` wrong counts of a cell, which may lie outside the window.
    void uncount(unsigned cell, std::uint64_t times) {
        if (cell < 8 * Form::rows) wrong[cell] += times;
    }
    std::uint64_t wrong[8 * Form::rows] = {};

    [[gnu::always_inline]] static Bits beyond(const Bits* w) {
        Bits far = w[Form::cell_planes];
        for (unsigned p = Form::cell_planes + 1; p < Form::planes; ++p) far = Word::either(far, w[p]);
        // rows that are there for their planes' sake only: the upper quarter of the cells
        if constexpr (8 * Form::rows < (1U << Form::cell_planes)) {
            static_assert(8 * Form::rows * 4 == (1U << Form::cell_planes) * 3);
            far = Word::either(far, Word::both(w[Form::cell_planes - 1], w[Form::cell_planes - 2]));
        }
        return far;
    }

    void work() {
        begin();
        std::size_t at = 0;
        Bits far[block];
        for (std::uint64_t left = task.steps; left != 0;) {
            if (at + block > run) {
                move_to_front(at);
                at = 0;
            }
            const unsigned count = left < block ? static_cast<unsigned>(left) : block;
            lengthen(bits + at, block);
            const Bits* const out = bits + at;
            const Bits* const in = out + task.window;
            Bits w[Form::planes];
            for (unsigned p = 0; p < Form::planes; ++p) w[p] = weight[p];
            for (unsigned t = 0; t < block; ++t) {
                for (unsigned p = 0; p < Form::planes; ++p) seen[t][p] = w[p];
                far[t] = Word::both(beyond(w), in_use);
                const Bits up = in[t];
                Bits carry = Word::differ(up, out[t]);
                for (unsigned p = 0; p < Form::planes; ++p) {
                    const Bits before = w[p];
                    w[p] = Word::differ(before, carry);
                    carry = Word::where_same(carry, before, up);
                }
            }
            for (unsigned p = 0; p < Form::planes; ++p) weight[p] = w[p];
            for (unsigned t = 0; t < count; ++t)
                if (Word::any(far[t])) look_up(seen[t], far[t]);
            Word::template count<Form>(seen, count, tally);
            at += count;
            left -= count;
        }
        take_totals();
    }

    void move_to_front(std::size_t at) const {
        for (std::size_t i = 0; i < ahead; ++i) bits[i] = bits[at + i];
    }

    void take_totals() {
        // an unused lane stays at weight 0 throughout
        uncount(static_cast<unsigned>(-lowest) & ((1U << Form::cell_planes) - 1),
                task.steps * (64 * words - task.used));
        std::uint64_t cells[8 * Form::rows];
        Word::template totals<Form>(tally, cells);
        for (unsigned cell = 0; cell < 8 * Form::rows; ++cell) {
            const std::uint64_t there = cells[cell] - wrong[cell];
            if (there != 0) task.histogram[lowest + static_cast<int>(cell)] += there;
        }
    }
};

template <class Word, class Form>
void run_shape(const Task& task) {
    Lanes<Word, Form> lanes(task);
    lanes.work();
}

template <class Word>
void run_task(const Task& task) {
    if (task.window <= Shape4::window) return run_shape<Word, Shape4>(task);
    if (task.window <= Shape6::window) return run_shape<Word, Shape6>(task);
    if (task.window <= Shape8::window) return run_shape<Word, Shape8>(task);
    if (task.window <= Shape12::window) return run_shape<Word, Shape12>(task);
    if (task.window <= Shape16::window) return run_shape<Word, Shape16>(task);
    return run_shape<Word, Shape24>(task);
}

template <unsigned Bytes>
struct Vector;
template <>
struct Vector<16> {
    using Bits [[gnu::vector_size(16)]] = std::uint64_t;
};
template <>
struct Vector<32> {
    using Bits [[gnu::vector_size(32)]] = std::uint64_t;
};

/// Words made of the compiler's own vectors, without a count of ones: the cells are added up in the vectors' lanes, as
/// in pencil-and-paper addition (carry-save adders), and only every sixteenth result is counted.
template <unsigned Bytes>
struct PlainWord {
    using Bits = typename Vector<Bytes>::Bits;
    static Bits none() { return Bits{}; }
    static Bits all() { return ~Bits{}; }
    static Bits both(Bits a, Bits b) { return a & b; }
    static Bits either(Bits a, Bits b) { return a | b; }
    static Bits differ(Bits a, Bits b) { return a ^ b; }
    static Bits sum(Bits a, Bits b, Bits c) { return a ^ b ^ c; }
    /// `carry` where `a` and `b` are the same.
    static Bits where_same(Bits carry, Bits a, Bits b) { return carry & ~(a ^ b); }
    static bool any(Bits a) {
        std::uint64_t found = 0;
        for (unsigned i = 0; i < Bytes / 8; ++i) found |= a[i];
        return found != 0;
    }

    /// A cell's counters: ones, twos, fours and eights of each lane; sixteens by bytes of lanes, and in all.
    enum Level : unsigned { ones, twos, fours, eights, by_bytes, in_all, levels };
    template <unsigned Rows>
    static constexpr unsigned tally_words() {
        return Rows * 8 * levels + 1;
    }

    [[gnu::always_inline]] static Bits add(Bits& low, Bits a, Bits b) {
        const Bits differing = low ^ a;
        const Bits high = (low & a) | (differing & b);
        low = differing ^ b;
        return high;
    }
    [[gnu::always_inline]] static Bits ones_by_bytes(Bits x) {
        x = x - ((x >> 1) & 0x5555555555555555ULL);
        x = (x & 0x3333333333333333ULL) + ((x >> 2) & 0x3333333333333333ULL);
        return (x + (x >> 4)) & 0x0F0F0F0F0F0F0F0FULL;
    }
    [[gnu::always_inline]] static Bits bytes_summed(Bits x) {
        x = (x & 0x00FF00FF00FF00FFULL) + ((x >> 8) & 0x00FF00FF00FF00FFULL);
        x = (x & 0x0000FFFF0000FFFFULL) + ((x >> 16) & 0x0000FFFF0000FFFFULL);
        return (x & 0xFFFFFFFFULL) + (x >> 32);
    }

    /// Which lanes are in which row and which column, window by window; none from `count` on.
    template <class Form>
    [[gnu::always_inline]] static void place(const Bits (&seen)[block][Form::planes], unsigned count,
                                             Bits (&row)[Form::rows][block], Bits (&column)[8][block]) {
        for (unsigned t = 0; t < block; ++t) {
            const Bits* const w = seen[t];
            const Bits here = t < count ? all() : none();
            for (unsigned c = 0; c < 8; ++c)
                column[c][t] =
                    ((c & 1) != 0 ? w[0] : ~w[0]) & ((c & 2) != 0 ? w[1] : ~w[1]) & ((c & 4) != 0 ? w[2] : ~w[2]);
            for (unsigned r = 0; r < Form::rows; ++r) {
                Bits mask = here;
                for (unsigned p = 3; p < Form::cell_planes; ++p) mask &= (r >> (p - 3) & 1) != 0 ? w[p] : ~w[p];
                row[r][t] = mask;
            }
        }
    }

    /// The bytes of all cells are summed up before one can overflow: each grows by 8 at most each time.
    template <class Form>
    [[gnu::always_inline]] static void sum_bytes_in_time(Bits* tally) {
        Bits& since = tally[Form::rows * 8 * levels];
        since += 1;
        if (since[0] != 31) return;
        since = none();
        for (unsigned cell = 0; cell < 8 * Form::rows; ++cell) {
            Bits* const mine = tally + cell * levels;
            mine[in_all] += bytes_summed(mine[by_bytes]);
            mine[by_bytes] = none();
        }
    }

    template <class Form>
    [[gnu::noinline]] static void count(const Bits (&seen)[block][Form::planes], unsigned count, Bits* tally) {
        Bits row[Form::rows][block], column[8][block];
        place<Form>(seen, count, row, column);
        for (unsigned cell = 0; cell < 8 * Form::rows; ++cell) {
            const Bits* const a = row[cell / 8];
            const Bits* const b = column[cell % 8];
            Bits* const mine = tally + cell * levels;
            Bits one = mine[ones], two = mine[twos], four = mine[fours];
            Bits eight_of[2];
            for (unsigned half = 0; half < 2; ++half) {
                Bits four_of[2];
                for (unsigned quarter = 0; quarter < 2; ++quarter) {
                    const unsigned t = 8 * half + 4 * quarter;
                    const Bits first = add(one, a[t] & b[t], a[t + 1] & b[t + 1]);
                    const Bits second = add(one, a[t + 2] & b[t + 2], a[t + 3] & b[t + 3]);
                    four_of[quarter] = add(two, first, second);
                }
                eight_of[half] = add(four, four_of[0], four_of[1]);
            }
            Bits eight = mine[eights];
            const Bits sixteen = add(eight, eight_of[0], eight_of[1]);
            mine[ones] = one;
            mine[twos] = two;
            mine[fours] = four;
            mine[eights] = eight;
            mine[by_bytes] += ones_by_bytes(sixteen);
        }
        sum_bytes_in_time<Form>(tally);
    }

    static std::uint64_t total(Bits x) {
        std::uint64_t sum_of_all = 0;
        for (unsigned i = 0; i < Bytes / 8; ++i) sum_of_all += x[i];
        return sum_of_all;
    }
    template <class Form>
    static void totals(const Bits* tally, std::uint64_t (&cells)[8 * Form::rows]) {
        for (unsigned cell = 0; cell < 8 * Form::rows; ++cell) {
            const Bits* const mine = tally + cell * levels;
            std::uint64_t found = total(mine[in_all] + bytes_summed(mine[by_bytes])) * 16;
            for (unsigned level = ones; level <= eights; ++level)
                found += total(bytes_summed(ones_by_bytes(mine[level]))) << level;
            cells[cell] = found;
        }
    }
};

}  // namespace sim::dual
