#pragma once
// One end of a link once more: slow and obvious, written from proto/REQUIREMENTS.md and not from the code that keeps
// it. It never sees bytes: telegrams reach it as what they mean. Used to check the real endpoint step by step.
//
// Where the rules leave room it was taught what the endpoint does: a telegram rejected between handshake and first
// value stops nothing and is not counted (nothing is in use yet); an error exactly one interval after the last one is a
// first one; several good telegrams in one scan are all answered under the last number; an answer before the first one
// of a connection is a late copy if its number is one below; a running device says an acknowledgement back for
// as long as it is said; the contact may be closed again while an acknowledgement is on its way.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/endpoint.hpp"

namespace tests::model {

/// A telegram's meaning. Whether bytes mean this is the codec's affair and tested elsewhere.
struct Meaning {
    enum class Kind : std::uint8_t {
        process,
        parameter,
        corrupt,            ///< wrong length, wrong CRC
        foreign,            ///< a good process telegram of other addresses or of the own direction
        foreign_parameter,  ///< the end's own parameter telegram come back
    };
    Kind kind = Kind::process;

    // Process telegrams.
    bool safe = false, request = false, acknowledge = false, restart = false;
    std::uint32_t number = 0;
    std::optional<std::uint32_t> feedback;
    std::uint64_t value = 0;  ///< the payload; 0 is the substitute value

    // Parameter telegrams.
    proto::ParameterTelegram::Step step = proto::ParameterTelegram::Step::offer;
    std::uint64_t controller_number = 0, device_number = 0;
    std::uint32_t start_number = 0;

    friend bool operator==(const Meaning&, const Meaning&) = default;
};

struct Conclusion {
    proto::Verdict::Kind kind = proto::Verdict::Kind::ignored;
    std::optional<proto::Measure> detected_by;
    friend bool operator==(const Conclusion&, const Conclusion&) = default;
};

struct Change {
    proto::State from, to;
    proto::Cause cause;
    friend bool operator==(const Change&, const Change&) = default;
};

struct Settings {
    proto::End end = proto::End::device;
    proto::Exchange exchange = proto::Exchange::polled;
    std::uint32_t numbers = 8;  ///< how many there are: 2^bits
    proto::Duration watchdog{};
    proto::Reaction reaction = proto::Reaction::trip;
    proto::Duration error_interval{};
    std::uint32_t missing_allowed = 0;
    bool feedback = false;
    std::optional<std::uint32_t> max_lag;
};

/// What one start draws at random. The model cannot know it: it says when a draw is due and is told.
struct Draw {
    std::uint64_t handshake_number = 0;
    std::uint32_t start_number = 0;
};

class Endpoint {
  public:
    explicit Endpoint(const Settings& settings) : settings_(settings) {}

    void start();
    void receive(const Meaning& telegram) { queue_.push_back(telegram); }
    /// One scan up to the point where telegrams are sent.
    void scan(proto::Instant now);
    /// True if what is sent next contains a new draw, to be told by drew().
    [[nodiscard]] bool draws() const { return draw_due_; }
    void drew(const Draw& draw);
    /// What this scan sends; `value` is what the application wants to say.
    std::vector<Meaning> send(std::uint64_t value);
    /// Returns whether it counted, or nothing if there was no rising edge.
    std::optional<bool> contact(bool closed);

    [[nodiscard]] proto::State state() const { return state_; }
    [[nodiscard]] std::uint64_t in_use() const { return state_ == proto::State::running ? value_ : 0; }
    [[nodiscard]] bool acknowledgement_requested() const;
    [[nodiscard]] std::optional<proto::Instant> last_sign_of_life() const { return alive_; }
    [[nodiscard]] std::uint32_t connections() const { return connections_; }
    [[nodiscard]] bool connected() const { return phase_ == Phase::connected; }

    // For whoever makes telegrams for this end.
    [[nodiscard]] std::uint32_t number_out() const { return out_; }
    [[nodiscard]] bool has_heard() const { return heard_; }
    [[nodiscard]] std::uint32_t last_number() const { return last_; }

    /// Of the last scan.
    std::vector<Conclusion> conclusions;
    std::vector<Change> changes;

  private:
    enum class Phase : std::uint8_t {
        apart,     ///< controller: offering; device: waiting for an offer
        answered,  ///< controller: confirming an answer; device: has answered an offer
        connected,
        lost,  ///< device in a stream: only a new handshake helps, and it says so
    };

    [[nodiscard]] bool controller() const { return settings_.end == proto::End::controller; }
    [[nodiscard]] bool polled() const { return settings_.exchange == proto::Exchange::polled; }
    [[nodiscard]] std::uint32_t after(std::uint32_t number) const { return (number + 1) % settings_.numbers; }
    [[nodiscard]] std::uint32_t before(std::uint32_t number) const {
        return (number + settings_.numbers - 1) % settings_.numbers;
    }
    /// A number that is only drawn when the scan sends cannot have come back yet.
    [[nodiscard]] bool is_mine(std::uint64_t number) const { return !draw_due_ && number == mine_.handshake_number; }
    void go(proto::State to, proto::Cause cause);
    void stop(proto::Cause cause);
    void leave_connection();
    void connect();
    void watchdog();
    void take(const Meaning& telegram);
    void take_parameter(const Meaning& telegram);
    void take_process(const Meaning& telegram);
    void fresh(const Meaning& telegram);
    void controller_parameter(const Meaning& telegram);
    void device_offer(const Meaning& telegram);
    void controller_fresh(const Meaning& telegram);
    void device_fresh(const Meaning& telegram);
    void reject(proto::Measure measure);
    void conclude(proto::Verdict::Kind kind) { conclusions.push_back({kind, std::nullopt}); }
    [[nodiscard]] Meaning parameter(proto::ParameterTelegram::Step step) const;
    [[nodiscard]] Meaning process(std::uint32_t number, std::uint64_t value);

    Settings settings_;
    proto::Instant now_{};
    std::vector<Meaning> queue_;

    proto::State state_ = proto::State::start_up;
    Phase phase_ = Phase::apart;
    std::uint32_t connections_ = 0;
    bool draw_due_ = false;
    Draw mine_{};
    std::optional<std::uint64_t> theirs_;  ///< the peer's handshake number
    bool answer_parameters_ = false;
    proto::ParameterTelegram::Step answer_step_ = proto::ParameterTelegram::Step::answer;

    std::optional<proto::Instant> alive_;  ///< last sign of life; nothing: not armed
    std::optional<proto::Instant> error_;  ///< last counted error
    unsigned good_ = 0;                    ///< fresh since the last rejection
    std::uint64_t value_ = 0;              ///< last accepted

    std::uint32_t last_ = 0;       ///< number last accepted
    bool heard_ = false;           ///< anything accepted in this connection
    std::uint32_t out_ = 0;        ///< number last sent, or to be sent first
    bool open_ = false;            ///< controller, polled: `out_` was sent and is not answered
    std::optional<Meaning> sent_;  ///< the last fresh one, frozen
    unsigned answers_ = 0;         ///< device, polled: how many in this scan
    bool answer_fresh_ = false;    ///< the first of them is a new one

    bool closed_ = false;  ///< the contact
    bool peer_requests_ = false;
    bool acknowledging_ = false;  ///< controller: given, not confirmed; device: taken, said as long as it is asked
};

}  // namespace tests::model
