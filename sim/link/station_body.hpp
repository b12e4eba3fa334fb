#pragma once
// The scan of a station, written out in the loop of its driver: included by the drivers' units only.
#include <algorithm>
#include <cstdint>
#include <optional>

#include "sim/link/end_run_body.hpp"
#include "sim/link/station.hpp"

namespace sim {

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::tell_output(Instant now) {
    // only the output's end, and only while a demand is on its way: for the others it is one comparison
    if (__builtin_expect(!host_.plant().demand_open(), 1) || which != host_.plant().output_end()) return;
    const std::uint64_t used = end_.used() | elsewhere_;
    host_.plant().use_at_output(used);
    host_.tell(OutputUsed{used, now});
}

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::scan(Instant now) {
    const Instant local = host_.clocks().local(which, now);
    end_.template take<which>(
        local, [&](auto look) __attribute__((always_inline)) { host_.template arrivals<which>(now, look); });
    host_.tell(Scanned{which, local, now});
    if (const FailingEnd* f = host_.clocks().failing(which); __builtin_expect(f != nullptr, 0))
        if (f->frozen && end_.running()) {
            look_at_values();
            return scan_frozen(local, now);
        }
    if (__builtin_expect(end_.stale(), 0)) apply(now);
    if (end_.take_told()) {
        host_.tell(InUse{which, end_.used(), now});
        if (__builtin_expect(values_.any(), 0)) tell_values_in_use(now);
    }
    tell_output(now);
    end_.template give<which, 0>(end_.running() ? end_.computed() : 0, local, now, host_.out());
}

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::read_in(Instant now) {
    received_ = application_.read(end_.endpoint().input());
    if (pairs_.any()) received_ = pairs_.used(received_, end_.running(), host_.plant(), now);
    if (__builtin_expect(values_.any(), 0)) values_.use(end_.endpoint().input(), end_.running());
}

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::compute(Instant now) {
    const std::uint64_t received = received_;
    if constexpr (which == End::controller)
        if (__builtin_expect(application_.uses_elsewhere(), 0)) elsewhere_ = host_.elsewhere(application_, received);
    std::uint64_t sent = application_.evaluate(host_.plant().inputs(received | elsewhere_));
    Instant next = pairs_.any() ? pairs_.next() : proto::never;
    if (off_delays_.any()) {
        sent = off_delays_.sent(sent, now);
        next = std::min(next, off_delays_.next(now));
    }
    if (next != proto::never) host_.wake(which, next);
    if (__builtin_expect(holds_ != 0, 0)) sent = hold(sent);
    if (pairs_.any()) sent = pairs_.sent(sent);
    application_.write(sent, end_.endpoint().output());
    if (sent != end_.computed()) host_.tell(Computed{which, sent, now});
    end_.keep(received, sent);
    if (values_.any()) apply_values(now);
    if (which == host_.plant().output_end()) host_.drive(received | elsewhere_);
}

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::take_in(Instant now) {
    has_to_give_ = true;
    const Instant local = host_.clocks().local(which, now);
    end_.template take<which>(
        local, [&](auto look) __attribute__((always_inline)) { host_.template arrivals<which>(now, look); });
    host_.tell(Scanned{which, local, now});
    if (frozen())
        look_at_values();
    else if (end_.stale())
        read_in(now);
}

template <End which, class Host>
[[gnu::always_inline]] inline void Station<which, Host>::give_out(Instant now) {
    has_to_give_ = false;
    const Instant local = host_.clocks().local(which, now);
    const std::uint64_t made_before = end_.made();
    if (frozen()) return scan_frozen(local, now);
    if (end_.stale()) compute(now);
    if (end_.take_told()) {
        host_.tell(InUse{which, end_.used(), now});
        if (__builtin_expect(values_.any(), 0)) tell_values_in_use(now);
    }
    tell_output(now);
    end_.template give<which, 0>(end_.running() ? end_.computed() : 0, local, now, host_.out());
    if (held_ != 0) let_go_of_carried(made_before, now);
}

template <End which, class Host>
void Station<which, Host>::others_changed(Instant now) {
    if (frozen()) return;
    const std::uint64_t others = host_.elsewhere(application_, received_);
    std::uint64_t sent = application_.evaluate(host_.plant().inputs(received_ | others));
    if (off_delays_.any()) {
        // what falls later only begins to wait
        sent = off_delays_.sent(sent, now);
        if (const Instant next = off_delays_.next(now); next != proto::never) host_.wake(which, next);
    }
    hold(sent);
    end_.mark_stale();
}

template <End which, class Host>
std::uint64_t Station<which, Host>::hold(std::uint64_t sent) {
    carried_ &= ~sent;
    const std::uint64_t fell = ~sent & holds_ & ~carried_ & ~held_;
    if (fell != 0) held_from_ = proto::never;
    held_ |= fell;
    return sent & ~held_;
}

/// A polled end repeats a telegram until it is answered, so what one has carried arrives, or the link stops. In a
/// stream that telegram may be lost while later ones arrive.
template <End which, class Host>
void Station<which, Host>::let_go_of_carried(std::uint64_t made_before, Instant now) {
    if (end_.made() == made_before) return;
    if (held_from_ == proto::never) held_from_ = now;
    if (now < held_from_ + hold_time_) return;
    carried_ |= held_;
    held_ = 0;
    held_from_ = proto::never;
    end_.mark_stale();
}

template <End which, class Host>
[[gnu::noinline]] void Station<which, Host>::apply_values(Instant now) {
    const bool running = end_.running();
    values_.send(host_.plant(), running, end_.endpoint().output(), now);
    if (values_.changes_by_itself()) end_.mark_stale();
    tell_values_meant(values_.meant(), now);
    const std::optional<std::int64_t> limit = values_.reduced_speed();
    if (limit && limit_reduced(host_.plant(), *limit, now)) host_.tell(SpeedLimited{*limit, now});
}

template <End which, class Host>
[[gnu::noinline]] void Station<which, Host>::look_at_values() {
    if (values_.any()) values_.look_at(end_.endpoint().input());
}

template <End which, class Host>
[[gnu::noinline]] void Station<which, Host>::tell_values_meant(const ValueWord& values, Instant now) {
    constexpr Direction way = which == End::controller ? Direction::to_device : Direction::to_controller;
    if (values_.take_news(end_.running())) host_.tell(ValuesMeant{way, values, end_.running(), now});
}

template <End which, class Host>
[[gnu::noinline]] void Station<which, Host>::tell_values_in_use(Instant now) {
    host_.tell(ValuesInUse{which, values_.used(), now});
}

/// A scan of an end whose application takes in nothing new, while its link runs. What is told is true: a signal sent is
/// one only if it should be, and one in use is one if it is held although its source has gone.
template <End which, class Host>
[[gnu::noinline]] void Station<which, Host>::scan_frozen(Instant local, Instant now) {
    const std::uint64_t received = pairs_.proper(application_.read(end_.endpoint().input()));
    const bool told = end_.take_told();
    if (told) host_.tell(InUse{which, end_.used() | received, now});
    if (values_.any()) {
        values_.freeze(host_.plant(), now);
        tell_values_meant(values_.meant(), now);
        if (told) tell_values_in_use(now);
    }
    tell_output(now);
    std::uint64_t known = received;
    if constexpr (which == End::controller)
        if (application_.uses_elsewhere()) known |= host_.elsewhere(application_, received);
    end_.template give<which, 0>(end_.computed() & application_.evaluate(host_.plant().inputs(known)), local, now,
                                 host_.out());
}

}  // namespace sim
