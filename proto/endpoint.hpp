#pragma once
// One end of a safety link: bytes and a time go in, bytes, a next deadline and conclusions come out.
// No clock, no socket, no allocation after make(). The same object runs in virtual time and on a network.
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "proto/link_settings.hpp"
#include "proto/parameters.hpp"
#include "proto/result.hpp"
#include "proto/time.hpp"
#include "proto/verdict.hpp"

namespace proto {

enum class State : std::uint8_t { start_up, running, safe_state, awaiting_acknowledgement };
std::string_view name_of(State state);

/// Why an endpoint changed its state.
enum class Cause : std::uint8_t {
    power_up,
    first_value,        ///< start-up -> running
    time_expectation,   ///< no fresh valid telegram within the watchdog time
    rejected_telegram,  ///< see Transition::measure
    told_by_peer,       ///< the other end says that it is in the safe state
    peer_restarted,     ///< a parameter telegram came while running
    error_free_again,   ///< safe state -> awaiting acknowledgement
    errors_again,       ///< awaiting acknowledgement -> safe state
    acknowledged,       ///< awaiting acknowledgement -> running
    start_failed,       ///< the handshake was done, no value followed: back to start-up
};
std::string_view name_of(Cause cause);

/// A handle that the driver gives with a telegram and finds again in the conclusion; the endpoint never reads it.
struct Token {
    std::uint64_t value = 0;
};

struct Transition {
    State from{}, to{};
    Cause cause{};
    std::optional<Measure> measure;  ///< for time_expectation and rejected_telegram
};

/// Hears what an endpoint concludes, during on_deadline() and set_acknowledge().
class EventSink {
  public:
    virtual void concluded(Token token, const Verdict& verdict, Instant now) = 0;
    virtual void changed(const Transition& transition, Instant now) = 0;
    /// An acknowledgement was given; `counted` is false if nothing was requested.
    virtual void acknowledged(bool counted, Instant now) = 0;
    /// The device refused our parameters, or we refused the controller's; once per handshake attempt and code.
    virtual void refused(Refusal refusal, const LinkParameters& theirs, Instant now) = 0;

  protected:
    ~EventSink() = default;
};

/// What a technician reads at an end.
struct Counters {
    std::uint64_t received = 0;  ///< telegrams taken from the queue, of every kind
    std::uint64_t accepted = 0;  ///< fresh
    std::uint64_t sent = 0;
    std::uint32_t number_sent = 0;
    std::uint32_t number_received = 0;
    std::uint64_t repeats = 0;
    std::uint64_t ignored = 0;
    std::uint64_t queue_full = 0;  ///< telegrams lost because more came in one scan than the queue holds
    std::array<std::uint64_t, measure_count> rejected{};  ///< by the measure that detected it
};

/// What poll_transmit() produced. Two whole words: they come back in registers.
struct Transmission {
    enum class Kind : std::uint64_t {
        none,       ///< nothing to send
        parameter,  ///< a parameter telegram
        fresh,      ///< a process telegram under a new number, with a newly taken payload
        again,      ///< the same bytes as the last fresh one
    };
    Kind kind = Kind::none;
    std::uint64_t bytes = 0;
};

/// What one period of an undisturbed exchange does at one end: what its counters grew by while nothing was rejected,
/// ignored or missing and everything stood in the end as in the beginning (Endpoint::standing() gave the same).
struct QuietPeriod {
    Duration lasting{};          ///< whole scans of both ends and, with time stamps, whole units of these
    std::uint64_t accepted = 0;  ///< fresh telegrams
    std::uint64_t repeats = 0;
    std::uint64_t sent = 0;
};

class Endpoint {
  public:
    /// Telegrams that may wait for one scan; more are lost, as in a full socket buffer.
    static constexpr unsigned queue_length = 64;

    /// The CRC's tables for an end of these settings, to be lent to both ends of a link, which share them. Takes over
    /// what of `tables` fits. Nothing for a profile without a CRC; requires settings that make() takes.
    static std::optional<CrcEngine> tables_for(const LinkSettings& settings,
                                               const std::optional<CrcEngine>& tables = std::nullopt);
    /// Builds an endpoint, or says which setting is impossible. `sink` must outlive it. The only allocation.
    /// An engine of the profile's CRC in `tables` lends its tables, so that both ends use the same cache lines; with
    /// those of tables_for() they share all of them.
    static Result<Endpoint, SettingsError> make(const LinkSettings& settings, EventSink& sink,
                                                ProfileUse use = ProfileUse::link,
                                                const std::optional<CrcEngine>& tables = std::nullopt);
    Endpoint(Endpoint&&) noexcept;
    Endpoint& operator=(Endpoint&&) noexcept;
    Endpoint(const Endpoint&) = delete;
    Endpoint& operator=(const Endpoint&) = delete;
    ~Endpoint();

    /// Power on at `now`, first scan at `now` + `phase`. `entropy` must differ at each start, else old telegrams may
    /// fit (in a real device: a true random number). Forgets everything, counters too.
    void start(Instant now, Duration phase, std::uint64_t entropy);

    /// Queues any bytes at all for the next scan. Longer than 300 bytes is cut to 301, which no profile accepts.
    void receive(std::span<const std::uint8_t> bytes, Token token);

    /// When on_deadline() is next wanted: the next scan.
    [[nodiscard]] Instant next_deadline() const { return glance_->next_scan_; }

    /// One scan: watchdog first, then every queued telegram, oldest first. Requires next_deadline() <= now.
    /// Afterwards the application reads input(), writes output(), and the driver calls poll_transmit() until none.
    void on_deadline(Instant now);

    /// The same in steps, for a driver that brings telegrams without queueing them and takes conclusions as data:
    /// written out where it is used, see proto/endpoint_body.hpp.
    class Scan;
    /// As poll_transmit().
    Transmission poll_transmit_inline(Instant now, std::span<std::uint8_t, telegram_bytes_max> out);

    /// Payload to send, payload_sent bytes; read when the next fresh telegram is made, unless in the safe state.
    [[nodiscard]] std::span<std::uint8_t> output();
    /// Values in use, payload_received bytes: those last accepted while running, else the substitute values (all 0).
    [[nodiscard]] std::span<const std::uint8_t> input() const;
    /// Changes whenever the bytes of input() may have changed.
    [[nodiscard]] std::uint32_t input_revision() const { return glance_->input_revision_; }

    /// Next telegram of this scan into `out`; requires that a scan ran before.
    Transmission poll_transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
        return glance_->send_due_ ? transmit(now, out) : Transmission{};
    }

    /// False if poll_transmit() has nothing (more) in this scan: saves a driver the room for a telegram.
    [[nodiscard]] bool may_send() const { return glance_->send_due_; }

    /// The level of the operator's acknowledgement contact at the controller. Only a rising edge that comes after the
    /// request counts. No effect at the device.
    enum class Contact : std::uint8_t { open, closed };
    void set_acknowledge(Contact level, Instant now);
    /// True while the operator is asked to acknowledge.
    [[nodiscard]] bool acknowledgement_requested() const;

    [[nodiscard]] State state() const { return glance_->state_; }
    [[nodiscard]] const Counters& counters() const;
    [[nodiscard]] const LinkSettings& settings() const;
    /// Last acceptance (or arming at the handshake); nothing if the watchdog is not armed.
    [[nodiscard]] std::optional<Instant> last_sign_of_life() const;
    /// Counts handshakes completed at this end: telegrams of different connections never fit each other.
    [[nodiscard]] std::uint32_t connections() const;
    /// The last refusal seen, none after a handshake was done.
    [[nodiscard]] Refusal refusal() const;

    // ---- passing over what is known (R-90) ----
    /// Sums up how everything at this end stands between scans, relative to `now` and to the numbers reached: two
    /// values that are equal mean, but for a chance of 2^-64, that the end will do the same again. The time of the last
    /// counted error is left out: only the next error asks for it. Nothing where the end does not exchange process
    /// telegrams, or holds one that is not in order.
    [[nodiscard]] std::optional<std::uint64_t> standing(Instant now) const;
    /// The same for a telegram on its way to this end.
    [[nodiscard]] std::optional<std::uint64_t> standing_of(std::span<const std::uint8_t> bytes, Instant now) const;
    /// As if `periods` of these had passed: numbers, stamps, watchdog, next scan, counters and every telegram that is
    /// kept. Requires that a period has just passed in that very way: an armed watchdog is armed anew in it, so none
    /// can expire in what is passed over. What is on its way to this end goes through skip_on_the_way() before.
    void skip(std::uint64_t periods, const QuietPeriod& period);
    /// Makes the telegram that will be in its place then out of one that is on its way; only before skip().
    void skip_on_the_way(std::span<std::uint8_t, telegram_bytes_max> room, std::size_t bytes, std::uint64_t periods,
                         const QuietPeriod& period) const;

  private:
    class Core;
    /// What every driver asks for in every scan: read here without a call.
    struct Glance {
        Instant next_scan_ = never;
        std::uint32_t input_revision_ = 0;
        unsigned queued_ = 0;
        State state_ = State::start_up;
        bool send_due_ = false;
    };
    explicit Endpoint(std::unique_ptr<Core> core);
    Transmission transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out);
    std::unique_ptr<Core> core_;
    const Glance* glance_;  ///< part of *core_
};

}  // namespace proto
