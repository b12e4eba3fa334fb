#pragma once
// What an end does in each exchange, written out in the loop of its driver: included by the drivers' units only.
#include <span>

#include "proto/endpoint_body.hpp"
#include "sim/link/end_run.hpp"

namespace sim {

template <class Host>
template <End which>
[[gnu::always_inline]] inline void EndRun<Host>::conclude(proto::Token token, const proto::Verdict& verdict) {
    // by its parts: as a whole it would be copied in larger pieces than it was written in, and wait for memory
    host_.tell(
        Concluded{which, token, {verdict.kind, verdict.failed, verdict.number, verdict.sender_safe}, host_.true_now()});
    if (__builtin_expect(verdict.kind == proto::Verdict::Kind::fresh, 1))
        now_.told = true;
    else if (verdict.kind == proto::Verdict::Kind::handshake)
        handshake_concluded();
}

template <class Host>
template <End which, class Arrivals>
[[gnu::always_inline]] inline void EndRun<Host>::take(Instant local, Arrivals arrivals) {
    proto::Endpoint::Scan scan(endpoint_, local);
    unsigned looked = scan.waiting();
    if (__builtin_expect(looked != 0, 0))
        scan.look_at_queued([this](proto::Token token, const proto::Verdict& verdict)
                                __attribute__((always_inline)) { conclude<which>(token, verdict); });
    arrivals([&](std::span<const std::uint8_t> bytes, proto::Token token) __attribute__((always_inline)) {
        if (__builtin_expect(looked == proto::Endpoint::queue_length, 0)) return scan.refuse();
        ++looked;
        proto::Verdict verdict;
        scan.look_at(bytes, verdict);
        conclude<which>(token, verdict);
        scan.follow(verdict);
    });
    scan.close();
}

template <class Host>
template <End which, std::uint8_t link, class Out>
[[gnu::always_inline]] inline void EndRun<Host>::give(std::uint64_t signals, Instant local, Instant now, Out& out) {
    using Kind = proto::Transmission::Kind;
    constexpr Direction way = which == End::controller ? Direction::to_device : Direction::to_controller;
    while (endpoint_.may_send()) {
        Telegram& telegram = out.slot();
        const proto::Transmission made =
            endpoint_.poll_transmit_inline(local, std::span<std::uint8_t, proto::telegram_bytes_max>(telegram.bytes));
        if (made.kind == Kind::none) return;
        telegram.size = static_cast<std::uint16_t>(made.bytes);
        if (__builtin_expect(made.kind == Kind::fresh, 1)) {
            ++made_;
            if constexpr (link == 0) host_.tell(Produced{way, signals, now});
        }
        if constexpr (link == 0)
            host_.tell(Sent{way, made.kind, made_, signals, std::as_const(telegram).view(), local, now});
        out.offer(telegram, Tag::genuine(made_, link, way, made.kind == Kind::parameter), now);
    }
}

}  // namespace sim
