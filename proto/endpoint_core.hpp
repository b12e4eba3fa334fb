#pragma once
// The inside of an endpoint: what both roles share. The roles' own halves are in controller_end.cpp and device_end.cpp;
// what is done for each process telegram is in endpoint_body.hpp.
#include <array>

#include "proto/acknowledgement.hpp"
#include "proto/bytes.hpp"
#include "proto/endpoint.hpp"
#include "proto/sequence_check.hpp"
#include "proto/supervision.hpp"
#include "proto/telegram.hpp"

namespace proto {

/// How far the connection is.
enum class Phase : std::uint8_t {
    seeking,     ///< controller: offering parameters; device: waiting for an offer, or for the confirmation
    confirming,  ///< controller: the device agreed, it waits for "ready"
    exchanging,  ///< process telegrams flow
};

class Endpoint::Core : public Endpoint::Glance {
  public:
    Core(const LinkSettings& settings, std::optional<CrcEngine> crc, EventSink& sink);

    void start(Instant now, Duration phase, std::uint64_t entropy);
    void receive(std::span<const std::uint8_t> bytes, Token token);
    void open_scan(Instant now);
    void look_at(std::span<const std::uint8_t> bytes, Instant now, Verdict& verdict);
    void follow(const Verdict& verdict, Instant now);
    Transmission transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out);
    void set_acknowledge(Contact level, Instant now);
    [[nodiscard]] std::optional<std::uint64_t> standing(Instant now) const;
    [[nodiscard]] std::optional<std::uint64_t> standing_of(std::span<const std::uint8_t> bytes, Instant now) const;
    void skip(std::uint64_t periods, const QuietPeriod& period);
    void skip_on_the_way(std::span<std::uint8_t, telegram_bytes_max> room, std::size_t bytes, std::uint64_t periods,
                         const QuietPeriod& period) const;

    struct Waiting {  // NOLINT(cppcoreguidelines-pro-type-member-init): `size` says how many of `bytes` count
        Token token;
        std::uint16_t size = 0;
        std::array<std::uint8_t, telegram_bytes_max + 4> bytes;
    };

    // What each exchange asks for lies together: with many links in turn each line of memory counts.
    Phase phase_ = Phase::seeking;
    bool numbers_judged_;  ///< there are numbers, and one out of order is rejected
    bool ages_judged_;     ///< there are time stamps or a permitted lag
    // numbers: controller and streaming ends count own_number_; receivers remember peer_number_
    bool accepted_any_ = false;       ///< of this connection: before, no number can be a repeat
    bool waiting_ = false;            ///< polled controller: the number now out is not answered yet
    bool acknowledging_ = false;      ///< controller: given, not yet confirmed; device: taken while the peer shows it
    bool needs_restart_ = false;      ///< device: only a new handshake helps (R-32, R-35)
    bool peer_ready_ = false;         ///< controller: the device's last telegram carried its request
    bool fresh_due_ = false;          ///< the next process telegram is under a new number
    std::uint32_t own_number_ = 0;    ///< last one sent (polled controller: the one now out)
    std::uint32_t peer_number_ = 0;   ///< last one accepted
    std::uint32_t start_number_ = 0;  ///< first one of this connection
    unsigned answers_due_ = 0;        ///< polled device: telegrams to answer
    unsigned answers_most_;           ///< polled device: in one scan
    Watchdog watchdog_;
    /// Copies out of the settings.
    struct Often {
        explicit Often(const LinkSettings& settings);
        Duration scan;
        unsigned payload_sent, payload_received, missing_allowed;
        bool controller, polled, low_first, number_implied, stamps;
    } often_;
    CleanRun clean_;
    std::optional<ParameterTelegram> reply_;  ///< device: handshake answer of this scan
    Counters counters_;                       ///< beside the end of what is before it, which says whether it is there
    Codec::Last last_sent_;                   ///< the last fresh process telegram
    Codec::Last last_received_;               ///< of those in order

    EventSink& sink_;
    std::optional<CrcEngine> crc_;  ///< keeps the tables alive
    Codec out_codec_, in_codec_;
    std::array<std::uint8_t, payload_bytes_max> output_{};
    std::array<std::uint8_t, payload_bytes_max> input_{};

    LinkSettings settings_;
    ParameterBlock own_;  ///< its parameters

    // supervision
    ErrorInterval errors_;
    AcknowledgeContact contact_;

    // the connection
    std::uint64_t entropy_ = 0;
    std::uint64_t draws_ = 0;           ///< handshake numbers drawn since the start
    std::uint64_t own_handshake_ = 0;   ///< handshake number drawn by this end, for this connection
    std::uint64_t peer_handshake_ = 0;  ///< the one fed back
    std::uint32_t connections_ = 0;
    Refusal refusal_ = Refusal::none;
    std::uint32_t peer_stamp_ = 0;  ///< echoed back
    // the sender's clock: what the handshake's round trip told about it
    Instant asked_at_ = never;      ///< own first telegram of this handshake that the peer's next step answers
    std::uint32_t clock_lead_ = 0;  ///< the peer's stamp in its answer less the own one at asked_at_, modulo the range
    std::int64_t round_trip_units_ = 0;  ///< between the two own readings; the offset is known to half of it

    std::array<std::uint8_t, payload_bytes_max> ordered_{};  ///< output in the byte order of the wire
    std::array<Waiting, queue_length> queue_;

  private:
    [[nodiscard]] bool controller() const { return often_.controller; }
    [[nodiscard]] bool polled() const { return often_.polled; }
    [[nodiscard]] std::uint32_t mask() const { return in_codec_.number_mask(); }
    std::uint64_t draw();
    void enter(State to, Cause cause, std::optional<Measure> measure, Instant now);
    void forget_connection();

    // receiving
    /// Nothing for what is no parameter telegram.
    std::optional<Verdict> take_parameters(std::span<const std::uint8_t> bytes, Instant now);
    /// `verdict` is filled in place: built in pieces and returned by value it would cost a wait for memory.
    void process(std::span<const std::uint8_t> bytes, Instant now, Verdict& verdict);
    void accept(const Codec::Decoded& telegram, Instant now);
    void reject(MeasureSet failed, Instant now);
    void expire(Instant now);
    void trip(Cause cause, Measure measure, Instant now);
    /// What a telegram in `order` fails by its lag and its stamp.
    [[nodiscard]] MeasureSet judge_age(const Header& header, Order order, Instant now) const;
    [[nodiscard]] bool too_old(const Header& header, Instant now) const;
    [[nodiscard]] bool age_wrong(const Header& header, Instant now) const;
    /// Takes the offset of the peer's clock from its stamp; false if the round trip was too long to begin with.
    [[nodiscard]] bool set_clock(std::uint32_t peer_stamp, Instant now);
    [[nodiscard]] bool by_sender_clock() const {
        return settings_.profile.time_stamp_bits != 0 && settings_.profile.time_stamp_kind == StampKind::clock;
    }
    void begin_again(Instant now);
    [[nodiscard]] std::uint32_t stamp(Instant now) const {
        return static_cast<std::uint32_t>(now.ns / settings_.profile.time_stamp_unit.ns) &
               low_mask(settings_.profile.time_stamp_bits);
    }
    struct Tries {
        std::array<std::uint32_t, 256> numbers;
        unsigned count;
    };
    std::span<const std::uint32_t> allowed_numbers(Tries& room) const;
    [[nodiscard]] Codec::Decoded decode_implied(std::span<const std::uint8_t> bytes) const;
    [[nodiscard]] Order order_of(std::uint32_t number) const;

    // passing over quiet periods: endpoint_skip.cpp
    /// By how much the fields of a telegram grow.
    struct Growth {
        std::uint32_t number, feedback, stamp;
    };
    [[nodiscard]] Growth growth_received(std::uint64_t periods, const QuietPeriod& period) const;
    [[nodiscard]] Growth growth_sent(std::uint64_t periods, const QuietPeriod& period) const;
    [[nodiscard]] Codec::Decoded decode_near(std::span<const std::uint8_t> bytes) const;
    /// The last fresh telegram, whole.
    [[nodiscard]] std::span<const std::uint8_t> bytes_sent() const {
        return {last_sent_.bytes.data(), out_codec_.layout().total_bytes};
    }
    static void grow(const Codec& codec, const Codec::Decoded& telegram, const Growth& by, std::uint32_t stamps,
                     std::span<std::uint8_t, telegram_bytes_max> bytes);
    [[nodiscard]] std::uint64_t header_standing(const Header& header, Instant now) const;

    /// What poll_transmit() is to make.
    enum class Due : std::uint8_t { nothing, handshake, fresh, again };

    // the roles' halves
    Verdict controller_parameters(const ParameterTelegram& telegram, Instant now);
    void controller_fresh(const Header& header, Instant now);
    void controller_changes(const Header& header, Instant now);
    void controller_lost();
    Due controller_due();
    Transmission controller_handshake(Instant now, std::span<std::uint8_t, telegram_bytes_max> out);
    Verdict device_parameters(const ParameterTelegram& telegram, Instant now);
    /// What follows from a confirmation of our own offer: exchanging, and `answer` as "ready".
    void device_confirmed(const ParameterTelegram& telegram, ParameterTelegram answer, Instant now);
    void device_fresh(const Header& header, Instant now);
    void device_changes(const Header& header, Instant now);
    void device_lost(Cause cause, Measure measure);
    Due device_due();
    Transmission device_handshake(std::span<std::uint8_t, telegram_bytes_max> out);

    // sending
    Transmission send_parameters(const ParameterTelegram& telegram, std::span<std::uint8_t, telegram_bytes_max> out);
    Transmission send_fresh(Instant now, std::span<std::uint8_t, telegram_bytes_max> out);
    Transmission send_again(std::span<std::uint8_t, telegram_bytes_max> out);
    [[nodiscard]] bool in_safe_state() const {
        return state_ == State::safe_state || state_ == State::awaiting_acknowledgement;
    }
};

}  // namespace proto
