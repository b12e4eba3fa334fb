// Every number against every last number, for the widths where that is all there is.
#include "proto/sequence_check.hpp"

#include <doctest/doctest.h>

#include "proto/bytes.hpp"

using proto::Order;
using proto::Waiting;

namespace {

/// Calls visit(width, mask, number, last) for every pair of numbers of 2 to 4 bits.
template <class Visit>
void for_all_pairs(Visit visit) {
    for (unsigned width = 2; width <= 4; ++width)
        for (std::uint32_t last = 0; last < (1U << width); ++last)
            for (std::uint32_t number = 0; number < (1U << width); ++number)
                visit(width, proto::low_mask(width), number, last);
}

/// How many steps of +1 lead from `last` to `number`, found by walking.
unsigned steps_between(std::uint32_t last, std::uint32_t number, unsigned width) {
    unsigned steps = 0;
    for (std::uint32_t at = last; at != number; at = (at + 1) % (1U << width)) ++steps;
    return steps;
}

}  // namespace

TEST_CASE("R-24 polled device: the same number is a repeat, the next is new, all others are wrong") {
    for_all_pairs([](unsigned width, std::uint32_t mask, std::uint32_t number, std::uint32_t last) {
        const unsigned steps = steps_between(last, number, width);
        const Order expected = steps == 0 ? Order::repeat : steps == 1 ? Order::fresh : Order::wrong;
        CHECK(proto::order_at_polled_device(number, last, mask) == expected);
    });
}

TEST_CASE("R-25 polled controller: the awaited answer is new, the one before is quiet, all others are wrong") {
    for_all_pairs([](unsigned width, std::uint32_t mask, std::uint32_t answered, std::uint32_t out) {
        const unsigned behind = steps_between(answered, out, width);
        const Order if_waiting = behind == 0 ? Order::fresh : behind == 1 ? Order::repeat : Order::wrong;
        const Order if_answered = behind <= 1 ? Order::repeat : Order::wrong;
        CHECK(proto::order_at_polled_controller(answered, out, Waiting::yes, mask) == if_waiting);
        CHECK(proto::order_at_polled_controller(answered, out, Waiting::no, mask) == if_answered);
    });
}

TEST_CASE("R-30 R-31 streaming: one to missing_allowed + 1 steps ahead is new, for every window that may be set") {
    for_all_pairs([](unsigned width, std::uint32_t mask, std::uint32_t number, std::uint32_t last) {
        for (unsigned missing = 0; missing + 1 < (1U << (width - 1)); ++missing) {
            const unsigned steps = steps_between(last, number, width);
            const Order expected = steps >= 1 && steps <= missing + 1 ? Order::fresh : Order::wrong;
            CHECK(proto::order_in_stream(number, last, missing, mask) == expected);
        }
    });
}

TEST_CASE("R-28 the number 0 is as good as any other") {
    for (unsigned width = 2; width <= 4; ++width) {
        const std::uint32_t mask = proto::low_mask(width);
        CHECK(proto::order_at_polled_device(0, mask, mask) == Order::fresh);
        CHECK(proto::order_at_polled_device(0, 0, mask) == Order::repeat);
        CHECK(proto::order_at_polled_device(1, 0, mask) == Order::fresh);
        CHECK(proto::order_at_polled_controller(0, 0, Waiting::yes, mask) == Order::fresh);
        CHECK(proto::order_at_polled_controller(mask, 0, Waiting::yes, mask) == Order::repeat);
        CHECK(proto::order_in_stream(0, mask, 0, mask) == Order::fresh);
    }
}

TEST_CASE("full width: the step over the highest number is a step of one") {
    const std::uint32_t mask = proto::low_mask(32);
    CHECK(proto::order_at_polled_device(0, 0xFFFFFFFF, mask) == Order::fresh);
    CHECK(proto::order_at_polled_controller(0xFFFFFFFF, 0, Waiting::yes, mask) == Order::repeat);
    CHECK(proto::order_in_stream(1, 0xFFFFFFFE, 2, mask) == Order::fresh);
    CHECK(proto::order_in_stream(2, 0xFFFFFFFE, 2, mask) == Order::wrong);
}
