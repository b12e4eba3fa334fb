// Compiled for AVX-512 with its count of ones (CMakeLists.txt); called only where the processor has both.
#include "sim/integrity/dual_kernel.hpp"

#if defined(__AVX512F__) && defined(__AVX512VPOPCNTDQ__)
#include <immintrin.h>

#include "sim/integrity/dual_lanes.hpp"

namespace sim::dual {
namespace {

/// Any function of three bits is one instruction here: its truth table is the last argument.
struct Word512 {
    using Bits = __m512i;
    static Bits none() { return _mm512_setzero_si512(); }
    static Bits all() { return _mm512_set1_epi64(-1); }
    static Bits both(Bits a, Bits b) { return _mm512_and_si512(a, b); }
    static Bits either(Bits a, Bits b) { return _mm512_or_si512(a, b); }
    static Bits differ(Bits a, Bits b) { return _mm512_xor_si512(a, b); }
    static Bits sum(Bits a, Bits b, Bits c) { return _mm512_ternarylogic_epi64(a, b, c, 0x96); }
    static Bits where_same(Bits carry, Bits a, Bits b) { return _mm512_ternarylogic_epi64(carry, a, b, 0x90); }
    static bool any(Bits a) { return _mm512_test_epi64_mask(a, a) != 0; }

    template <unsigned Rows>
    static constexpr unsigned tally_words() {
        return Rows * 8;
    }

    /// Where the three planes show the number Number, whose bit 0 belongs to `a`.
    template <unsigned Number>
    [[gnu::always_inline]] static Bits shows(Bits a, Bits b, Bits c) {
        return _mm512_ternarylogic_epi64(a, b, c, 1 << ((Number & 1) << 2 | (Number & 2) | (Number >> 2 & 1)));
    }
    /// Where two planes show Number, within `where`.
    template <unsigned Number>
    [[gnu::always_inline]] static Bits shows_within(Bits a, Bits b, Bits where) {
        return shows<Number | 4>(a, b, where);
    }

    template <class Form, unsigned Row>
    [[gnu::always_inline]] static Bits in_row(const Bits* w) {
        if constexpr (Form::cell_planes == 5) return shows<Row | 4>(w[3], w[4], all());
        const Bits three = shows<Row & 7>(w[3], w[4], w[5]);
        if constexpr (Form::cell_planes == 7)
            return Row >> 3 != 0 ? _mm512_and_si512(w[6], three) : ~w[6] & three;
        else if constexpr (Form::cell_planes == 8)
            return shows_within<(Row >> 3)>(w[6], w[7], three);
        return three;
    }

    template <class Form, unsigned Row>
    [[gnu::noinline]] static void count_row(const Bits (&seen)[block][Form::planes], unsigned count, Bits* tally) {
        Bits cell[8];
        for (unsigned c = 0; c < 8; ++c) cell[c] = tally[8 * Row + c];
#pragma GCC unroll 2
        for (unsigned t = 0; t < count; ++t) {
            const Bits* const w = seen[t];
            const Bits row = in_row<Form, Row>(w);
            const Bits low = ~w[2] & row;
            const Bits high = _mm512_and_si512(w[2], row);
            const auto more = [](Bits so_far, Bits these) {
                return _mm512_add_epi64(so_far, _mm512_popcnt_epi64(these));
            };
            cell[0] = more(cell[0], shows_within<0>(w[0], w[1], low));
            cell[1] = more(cell[1], shows_within<1>(w[0], w[1], low));
            cell[2] = more(cell[2], shows_within<2>(w[0], w[1], low));
            cell[3] = more(cell[3], shows_within<3>(w[0], w[1], low));
            cell[4] = more(cell[4], shows_within<0>(w[0], w[1], high));
            cell[5] = more(cell[5], shows_within<1>(w[0], w[1], high));
            cell[6] = more(cell[6], shows_within<2>(w[0], w[1], high));
            cell[7] = more(cell[7], shows_within<3>(w[0], w[1], high));
        }
        for (unsigned c = 0; c < 8; ++c) tally[8 * Row + c] = cell[c];
    }

    template <class Form, unsigned Row = 0>
    [[gnu::always_inline]] static void count(const Bits (&seen)[block][Form::planes], unsigned count_of, Bits* tally) {
        if constexpr (Row < Form::rows) {
            count_row<Form, Row>(seen, count_of, tally);
            count<Form, Row + 1>(seen, count_of, tally);
        }
    }

    template <class Form>
    static void totals(const Bits* tally, std::uint64_t (&cells)[8 * Form::rows]) {
        for (unsigned cell = 0; cell < 8 * Form::rows; ++cell) {
            std::uint64_t each[8];
            __builtin_memcpy(each, &tally[cell], sizeof each);
            cells[cell] = 0;
            for (const std::uint64_t one : each) cells[cell] += one;
        }
    }
};

}  // namespace

Kernel avx512_kernel() {
    if (__builtin_cpu_supports("avx512f") == 0 || __builtin_cpu_supports("avx512vpopcntdq") == 0) return {};
    return {"AVX-512", 512, memory_words_of<Word512>, run_task<Word512>};
}

}  // namespace sim::dual
#else
sim::dual::Kernel sim::dual::avx512_kernel() { return {}; }
#endif
