#pragma once
// Whether a number fits, for each kind of receiver. Numbers are taken modulo 2^width; 0 is an ordinary number.
#include <cstdint>

namespace proto {

enum class Order : std::uint8_t { fresh, repeat, wrong };

/// Polled device: the last number again is a repeat, the next one new, anything else wrong.
constexpr Order order_at_polled_device(std::uint32_t number, std::uint32_t last, std::uint32_t mask) {
    if (number == ((last + 1) & mask)) return Order::fresh;
    return number == last ? Order::repeat : Order::wrong;
}

enum class Waiting : std::uint8_t { no, yes };

/// Polled controller: an answer to the number now out is new if it is still waited for; one to it again, or to
/// the number before, is a late copy; anything else is wrong.
constexpr Order order_at_polled_controller(std::uint32_t answered, std::uint32_t out, Waiting waiting,
                                           std::uint32_t mask) {
    if (answered == out) return waiting == Waiting::yes ? Order::fresh : Order::repeat;
    return answered == ((out - 1) & mask) ? Order::repeat : Order::wrong;
}

/// Streaming: at most `missing_allowed` numbers may be missing since the last one.
constexpr Order order_in_stream(std::uint32_t number, std::uint32_t last, unsigned missing_allowed,
                                std::uint32_t mask) {
    const std::uint32_t step = (number - last) & mask;
    return step >= 1 && step <= missing_allowed + 1 ? Order::fresh : Order::wrong;
}

}  // namespace proto
