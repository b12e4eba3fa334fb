#pragma once
// Measures the round trips of an ordinary network: one computer asks, another one answers.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "proto/result.hpp"
#include "sim/live/live.hpp"
#include "sim/roundtrips/answering.hpp"
#include "sim/roundtrips/asked.hpp"

namespace sim {

/// Told ten times a second; false: end it.
struct AskState {
    std::uint64_t planned = 0, passed = 0;  ///< cycles: of the run, and of those that are over
    std::uint64_t sent = 0, answered = 0;   ///< datagrams
    bool asks = true;                       ///< false: waits for the last answers
};

struct AskOptions {
    Address to;
    proto::Duration cycle;                ///< one datagram in each, over 0
    std::uint64_t count = 0;              ///< how many cycles
    std::size_t bytes = 0;                ///< of each datagram, as MeasuringDatagram allows
    std::uint32_t run = 0;                ///< drawn anew each time
    proto::Duration wait;                 ///< for an answer: after the last one was sent, so much longer
    bool real_time = false;               ///< ask for SCHED_FIFO and locked memory; what came of it is told
    std::function<bool(AskState)> go_on;  ///< false: nothing more is sent, and only the last answers are waited for
    std::function<void(const std::string&)> tell;  ///< one line at a time, for people
};

/// What a computer that asks saw.
struct AskOutcome {
    RoundTrips trips;
    SocketAddress from;              ///< its own
    bool stamped = false;            ///< arrivals by the time that the system stamped on them, not that of reading
    bool stopped = false;            ///< by go_on
    bool refused = false;            ///< somebody else was being answered: it ended there
    std::uint64_t dropped_here = 0;  ///< arrivals for which this computer had no more room
    std::uint64_t clock_set = 0;     ///< how often the time of day was set meanwhile
    std::string not_sent_why;        ///< the system's words for the first that it would not send
    std::optional<SocketAddress> elsewhere;  ///< an answer of this run came from there, which was not asked
};
proto::Result<AskOutcome, LiveError> ask_round_trips(const AskOptions& options);

struct AnswerOptions {
    Address at;
    bool real_time = false;
    std::function<bool(proto::Duration since)> go_on;  ///< since the begin, ten times a second; false: end it
    std::function<void(const std::string&)> tell;
};
struct AnswerOutcome {
    Answering::Counts counts;
    SocketAddress at;
    bool stamped = false;
    proto::Duration longest;         ///< from an ask's arrival to its answer's sending
    std::uint64_t dropped_here = 0;  ///< arrivals for which this computer had no more room
};
proto::Result<AnswerOutcome, LiveError> answer_round_trips(const AnswerOptions& options);

}  // namespace sim
