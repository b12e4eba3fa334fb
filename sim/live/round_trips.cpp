#include "sim/live/round_trips.hpp"

#include <algorithm>
#include <array>

#include "sim/live/real_time.hpp"
#include "sim/live/stamped_socket.hpp"

namespace sim {
namespace {

using proto::Duration;
using proto::Instant;

constexpr Duration look_every = proto::milliseconds(100);
constexpr unsigned askers_told = 100;  ///< nobody can fill the terminal from outside

using Bytes = std::array<std::uint8_t, MeasuringDatagram::bytes_most>;

class Asking {
  public:
    Asking(const AskOptions& options, StampedSocket& socket, const SocketAddress& to)
        : options_(options),
          socket_(socket),
          to_(to),
          asked_(options.run, options.wait, options.count),
          begun_(socket.now()) {}

    AskOutcome run() {
        Instant look = begun_;
        while (asks_ || (asked_.open() > 0 && socket_.now() < last_sent_ + options_.wait)) {
            const Instant due = asks_ ? due_of(slot_) : last_sent_ + options_.wait;
            if (const auto arrival = socket_.next(std::min(due, look))) hear(*arrival);
            if (asks_ && socket_.now() >= due) send();
            if (socket_.now() < look) continue;
            look = socket_.now() + look_every;
            if (!options_.go_on || options_.go_on(state()) || !asks_) continue;
            outcome_.stopped = true;
            asks_ = false;
        }
        say_farewell();
        if (outcome_.refused) asked_.forget_from(asked_.refused());
        outcome_.trips = asked_.finish();
        outcome_.dropped_here = socket_.dropped();
        outcome_.clock_set = socket_.clock_set();
        outcome_.stamped = socket_.stamped();
        outcome_.from = socket_.local();
        return std::move(outcome_);
    }

  private:
    [[nodiscard]] Instant due_of(std::uint64_t slot) const {
        return begun_ + options_.cycle * static_cast<std::int64_t>(slot);
    }
    [[nodiscard]] AskState state() const {
        return {options_.count, slot_, asked_.count(), asked_.count() - asked_.open(), asks_};
    }

    /// One for all cycles that are due: what was missed is not made up for, which would be another load on the network.
    void send() {
        const Instant due = due_of(slot_);
        const Instant before = socket_.now();
        const auto overdue = static_cast<std::uint64_t>((before - due).ns / options_.cycle.ns);
        const std::uint64_t missed = std::min(overdue, options_.count - 1 - slot_);
        asked_.not_sent(missed);
        slot_ += missed + 1;
        Bytes room{};
        const std::span<std::uint8_t> bytes(room.data(), options_.bytes);
        encode(asked_.next(), bytes);
        const Instant leaves = socket_.now();
        if (const auto failed = socket_.send(bytes, to_)) {
            if (outcome_.not_sent_why.empty()) outcome_.not_sent_why = failed->message;
            asked_.not_sent(1);
            if (asked_.count() == 0 && leaves >= begun_ + options_.wait) slot_ = options_.count;  // there is no way out
        } else {
            last_sent_ = leaves;
            asked_.sent(leaves - begun_, socket_.now() - due);
        }
        asks_ = slot_ < options_.count;
    }

    void hear(const StampedSocket::Arrival& arrival) {
        if (arrival.from != to_) {
            const auto came = decode_measuring(arrival.bytes);
            if (came && came->run == options_.run && came->kind == MeasuringDatagram::Kind::answer)
                outcome_.elsewhere = arrival.from;
            return asked_.stranger();
        }
        if (asked_.hear(arrival.bytes, arrival.at - begun_) != Asked::Heard::busy) return;
        outcome_.refused = true;
        asks_ = false;
        last_sent_ = begun_ - options_.wait;  // nobody answers any more
    }

    /// So that another run is answered at once.
    void say_farewell() {
        if (asked_.count() == 0 || outcome_.refused) return;
        Bytes room{};
        const std::span<std::uint8_t> bytes(room.data(), options_.bytes);
        encode({MeasuringDatagram::Kind::farewell, options_.run, asked_.next().number, {}}, bytes);
        socket_.send(bytes, to_);
    }

    const AskOptions& options_;
    StampedSocket& socket_;
    SocketAddress to_;
    Asked asked_;
    AskOutcome outcome_;
    Instant begun_, last_sent_{};
    std::uint64_t slot_ = 0;
    bool asks_ = true;
};

}  // namespace

proto::Result<AskOutcome, LiveError> ask_round_trips(const AskOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    StampedSocket socket;
    const auto to = socket_address(options.to);
    if (!to) return LiveError{options.to.host + ": is no address; write for example 127.0.0.1:4701"};
    if (auto failed = socket.open_towards(options.to)) return std::move(*failed);
    return Asking(options, socket, *to).run();
}

proto::Result<AnswerOutcome, LiveError> answer_round_trips(const AnswerOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    StampedSocket socket;
    if (auto failed = socket.open(options.at)) return std::move(*failed);
    AnswerOutcome outcome;
    outcome.at = socket.local();
    outcome.stamped = socket.stamped();
    if (options.tell) options.tell("answers at " + written(outcome.at));
    Answering answering;
    Bytes room{};
    Instant look = socket.now();
    for (;;) {
        if (socket.now() >= look) {
            look = socket.now() + look_every;
            if (options.go_on && !options.go_on(socket.now() - Instant{})) break;
        }
        const auto arrival = socket.next(look);
        if (!arrival) continue;
        const auto askers = answering.counts().askers;
        auto reply = answering.hear(arrival->from, arrival->bytes, socket.now());
        if (!reply) continue;
        const std::span<std::uint8_t> bytes(room.data(), arrival->bytes.size());
        if (reply->kind == MeasuringDatagram::Kind::answer) {
            reply->answered_after = socket.now() - arrival->at;
            outcome.longest = std::max(outcome.longest, reply->answered_after);
        }
        encode(*reply, bytes);
        socket.send(bytes, arrival->from);
        if (answering.counts().askers != askers && askers < askers_told && options.tell)
            options.tell("is asked by " + written(arrival->from));
    }
    outcome.counts = answering.counts();
    outcome.dropped_here = socket.dropped();
    return outcome;
}

}  // namespace sim
