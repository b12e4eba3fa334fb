#pragma once
// The clock, the socket and the timer of a part of a live run, whatever it carries: when it looks, how late it is, and
// what goes out once it is kept.
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sim/live/lateness_notes.hpp"
#include "sim/live/live.hpp"
#include "sim/live/waiting.hpp"

namespace sim {

/// A peer that says nothing for so long is missed, and that is told as often.
inline constexpr std::chrono::seconds missed_after{1};

/// What a part must know of its run to keep time.
struct RunTimes {
    Duration duration{};
    Duration goes_on{};           ///< after that, see goes_on_after()
    Duration lateness_allowed{};  ///< see lateness_allowed()
    Duration looks_every{};       ///< at least, so that it notices when it is itself held up
};
RunTimes run_times(const Scenario& scenario);

/// The one thread in which the parts of a process run.
class PartLoop {
  public:
    PartLoop();
    PartLoop(const PartLoop&) = delete;
    PartLoop& operator=(const PartLoop&) = delete;
    ~PartLoop();
    /// Until every part that was started has ended.
    void run();

  private:
    friend class PartRun;
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

class PartRun {
  public:
    /// All that is referred to must outlive it.
    PartRun(PartLoop& loop, const LiveOptions& options, const RunTimes& times);
    PartRun(const PartRun&) = delete;
    PartRun& operator=(const PartRun&) = delete;
    virtual ~PartRun();

    /// Nothing, or why the socket could not be had.
    std::optional<LiveError> bind(const Address& address);
    /// Its own, once it is bound.
    [[nodiscard]] Address address() const;
    /// Whom it hears, and may send to: peers are numbered from 0 in this order. Nothing, or why not.
    std::optional<LiveError> add_peer(const Address& address);
    /// Each second it tells whom it waits for, while it does.
    void tell_waiting() { tells_waiting_ = true; }
    /// Ended before its run did.
    [[nodiscard]] bool stopped() const { return stopped_; }
    /// What was seen could not be kept; the part ended.
    [[nodiscard]] bool unkept() const { return unkept_; }

  protected:
    using Clock = std::chrono::steady_clock;

    // ---- what the part does ----
    [[nodiscard]] virtual Instant next_event() const = 0;
    /// Does what is due at `now`; how late the latest of it was.
    virtual Duration do_due(Instant now) = 0;
    /// A datagram of that peer; of others none is heard.
    virtual void hear(std::span<const std::uint8_t> bytes, std::size_t peer) = 0;
    /// Keeps what was seen, before anything goes out that follows from it; false if it cannot.
    virtual bool keep() = 0;
    /// Where its lateness is noted.
    virtual std::vector<std::int64_t>& lateness_ns() = 0;
    /// One line on whom it waits for; empty: for nobody.
    [[nodiscard]] virtual std::string waits_for(Clock::time_point clock) const = 0;

    // ---- for that ----
    [[nodiscard]] Instant now() const;
    [[nodiscard]] bool begun() const { return contact_; }
    [[nodiscard]] Clock::time_point begun_at() const { return base_; }
    /// The run begins now; or it began then, and goes on.
    void begin();
    void go_on_since(Clock::time_point begun);
    /// Clocks and addresses of a run that began now; of the peers, the controller and the device by number.
    void note_begin(PartRecord& record, std::size_t controller, std::size_t device) const;
    void send(std::span<const std::uint8_t> bytes, std::size_t peer);
    void listen();
    void arm();
    void settle();
    void cannot_be_kept() { unkept_ = true; }
    [[nodiscard]] const LiveOptions& options() const { return options_; }
    [[nodiscard]] Address address_of(std::size_t peer) const;
    [[nodiscard]] MissingPeer missing(std::string name, std::size_t peer, bool heard, Clock::duration silent_for) const;

  private:
    struct Datagram {
        std::size_t peer = 0;
        std::size_t bytes = 0;
    };
    struct Socket;
    void run();
    void end();
    void note_waiting();
    void tell_who_is_missing();

    const LiveOptions& options_;
    RunTimes times_;
    std::unique_ptr<Socket> socket_;  ///< and timer
    Clock::time_point base_;
    LatenessNotes notes_;
    std::vector<Datagram> outbox_;  ///< what is to be sent once what was seen is kept
    std::vector<std::uint8_t> outbox_bytes_;
    Instant looks_at_{};  ///< the timer is set to
    Clock::time_point tells_missing_{};
    bool contact_ = false, just_begun_ = false, over_ = false, stopped_ = false, unkept_ = false;
    bool tells_waiting_ = false;
};

}  // namespace sim
