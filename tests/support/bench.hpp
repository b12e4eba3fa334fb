#pragma once
// Two endpoints on a bench, joined by a channel that a test scripts telegram by telegram. Time is virtual. Nothing of
// the simulator is used here: what tests the endpoints must not share its mistakes.
#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "proto/endpoint.hpp"
#include "tests/support/profiles.hpp"
#include "tests/support/two_ends.hpp"

namespace tests {

/// Writes down everything that one endpoint concludes.
class Recorder final : public proto::EventSink {
  public:
    struct Concluded {
        proto::Token token;
        proto::Verdict verdict;
        proto::Instant at;
    };
    struct Changed {
        proto::Transition transition;
        proto::Instant at;
    };
    std::vector<Concluded> verdicts;
    std::vector<Changed> changes;
    std::vector<bool> acknowledgements;  ///< for each one given, whether it counted
    std::vector<proto::Refusal> refusals;

    void concluded(proto::Token token, const proto::Verdict& verdict, proto::Instant now) override;
    void changed(const proto::Transition& transition, proto::Instant now) override;
    void acknowledged(bool counted, proto::Instant now) override;
    void refused(proto::Refusal refusal, const proto::LinkParameters& theirs, proto::Instant now) override;

    [[nodiscard]] unsigned count(proto::Verdict::Kind kind) const;
    /// The conclusion about the telegram with that token, if it was looked at.
    [[nodiscard]] std::optional<proto::Verdict> about(std::uint64_t token) const;
    /// The last rejection, if there was one.
    [[nodiscard]] std::optional<proto::Verdict> last_rejection() const;
    /// When the last change into `to` happened and why.
    [[nodiscard]] std::optional<Changed> last_change(proto::State to) const;
    void clear();
};

using Bytes = std::vector<std::uint8_t>;

/// What an end sent, and under which number.
struct Sent : proto::Transmission {
    std::uint32_t number = 0;
};

/// A telegram on its way. The script decides what arrives: by default the same bytes once, after the usual delay.
struct Telegram {
    struct Arrival {
        proto::Duration delay;
        Bytes bytes;
    };
    proto::End sender;
    Sent what;
    proto::Instant sent;
    std::uint64_t ordinal;  ///< of this sender, from 1; also the token's value at the receiver
    Bytes bytes;
    std::vector<Arrival> arrivals;

    void drop() { arrivals.clear(); }
    void delay(proto::Duration d) {
        for (Arrival& a : arrivals) a.delay = d;
    }
    void again_after(proto::Duration d) { arrivals.push_back({d, bytes}); }
    void flip(unsigned bit) {
        for (Arrival& a : arrivals) a.bytes[bit / 8] = static_cast<std::uint8_t>(a.bytes[bit / 8] ^ (1U << (bit % 8)));
    }
    [[nodiscard]] bool to_device() const { return sender == proto::End::controller; }
    [[nodiscard]] bool parameter() const { return what.kind == proto::Transmission::Kind::parameter; }
    [[nodiscard]] bool process() const { return !parameter(); }
};

class Bench {
  public:
    explicit Bench(const Pair& settings, proto::ProfileUse use = proto::ProfileUse::link);
    Bench(const Bench&) = delete;
    Bench& operator=(const Bench&) = delete;
    ~Bench() = default;

    std::function<void(Telegram&)> channel;  ///< the script; may be empty
    /// Runs at each scan of each end before it sends; by default it writes the time of the scan into the payload.
    std::function<void(proto::End)> application;
    std::function<void(proto::End)> before_scan;  ///< for invariants, like the next; may be empty
    std::function<void(proto::End)> after_scan;
    bool keep_log = true;
    proto::Duration usual_delay = proto::milliseconds(1);
    std::vector<Telegram> log;  ///< every telegram sent, as sent

    /// Power on, first scan after `phase`. Every start gets other entropy.
    void start(proto::End end, proto::Duration phase = {});
    void stop(proto::End end);  ///< power off: it neither scans nor receives
    /// Starts both, the device 3 ms later in phase.
    void start_both();
    /// start_both() and runs until both are running; a bench that cannot do that breaks the test's contract.
    void bring_up();

    void run_for(proto::Duration time);
    /// Until `holds` at the end of a scan; false if that took more than `limit`.
    bool run_until(const std::function<bool()>& holds, proto::Duration limit = proto::seconds(5));
    /// Puts any bytes into the way to `to`.
    void inject(proto::End to, const Bytes& bytes, proto::Duration delay = {}, std::uint64_t token = 1'000'000);

    proto::Endpoint& at(proto::End end) { return end == proto::End::controller ? controller : device; }
    Recorder& heard_by(proto::End end) { return end == proto::End::controller ? at_controller : at_device; }
    [[nodiscard]] proto::Instant now() const { return ends_.now(); }
    [[nodiscard]] bool both_running() const;
    [[nodiscard]] bool on(proto::End end) const { return parties_[static_cast<std::size_t>(end)].on; }
    /// Presses and lets go.
    void acknowledge();
    /// Runs until an acknowledgement is asked for, gives it and runs until both run; false if that took over 5 s.
    bool recover();
    /// Age of the value in use, from the sampling at the other end; nothing if a substitute value is in use.
    [[nodiscard]] std::optional<proto::Duration> age_of_value_at(proto::End end);
    /// The last telegram of that sender and kind, from the log; nullptr if there was none.
    [[nodiscard]] const Telegram* last_sent(proto::End sender, proto::Transmission::Kind kind) const;

    Recorder at_controller, at_device;
    proto::Endpoint controller, device;

  private:
    void send(const TwoEnds::Sent& sent);

    std::uint64_t starts_ = 0;
    std::array<std::uint64_t, 2> sent_by_{};
    std::array<EndpointParty, 2> parties_;
    TwoEnds ends_;
};

/// The time that the default application wrote into a payload, if any.
std::optional<proto::Instant> time_in(std::span<const std::uint8_t> payload);

}  // namespace tests
