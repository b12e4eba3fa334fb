#pragma once
// A place of the plant with a processor of its own: it owns the scan and the application of the ends there. One scan
// is: take all that arrived, compute, give all. Today it has one end; with one end it is written out as what one scan
// was.
//
// Host: what the station is in. Besides what EndRun asks of it:
//   Plant& plant()
//   void drive(std::uint64_t signals)         the output's end uses these
//   void wake(End, Instant at)                its application has to compute anew then
//   std::uint64_t elsewhere(const Application&, std::uint64_t received)
//                                             the controller's: signals that it has from no bit of this link
//   Clocks& clocks()
//   void arrivals<which>(Instant now, look)   calls look(bytes, token) for each telegram that is not in the end's queue
//   Out& out()                                where the end sends to
#include <cstdint>

#include "sim/judge/events.hpp"
#include "sim/link/clocks.hpp"
#include "sim/link/end_run.hpp"
#include "sim/plant/application.hpp"
#include "sim/plant/off_delays.hpp"
#include "sim/plant/pairs.hpp"
#include "sim/plant/station_values.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

template <End which, class Host>
class Station {
  public:
    /// All must outlive it.
    Station(const Scenario& scenario, EndRun<Host>& end, Host& host)
        : host_(host),
          end_(end),
          values_(scenario, which),
          off_delays_(scenario, which),
          pairs_(scenario, which),
          application_(scenario, which) {}

    /// When it is next scanned, in true time.
    [[nodiscard]] Instant next_scan() const { return host_.clocks().deadline(which, end_.endpoint().next_deadline()); }
    /// Requires next_scan() <= now.
    [[gnu::always_inline]] void scan(Instant now);

    // ---- the same in steps, for a controller with several links: each step for all of them that are due ----
    /// Takes what arrived. Requires next_scan() <= now.
    [[gnu::always_inline]] void take_in(Instant now);
    /// It took in, and did not give out since.
    [[nodiscard]] bool has_to_give() const { return has_to_give_; }
    /// What this link brought as of the last take_in().
    [[nodiscard]] std::uint64_t received() const { return received_; }
    /// Computes with what the other links brought, see Host::elsewhere(), and sends.
    [[gnu::always_inline]] void give_out(Instant now);
    /// Between two of its scans the other links brought something else: what falls meanwhile is sent as 0 once.
    void others_changed(Instant now);
    /// From now on what falls of these signals is held until a telegram has carried it, in a stream for that time.
    void hold_until_carried(std::uint64_t signals, Duration in_stream) {
        holds_ = signals;
        hold_time_ = in_stream;
    }
    [[nodiscard]] const Application& application() const { return application_; }
    [[nodiscard]] StationValues& values() { return values_; }
    /// As it was at first.
    void begin_again() {
        off_delays_.begin_again();
        pairs_.begin_again();
        values_.begin_again();
        received_ = elsewhere_ = held_ = carried_ = 0;
        has_to_give_ = false;
        held_from_ = proto::never;
    }

  private:
    void scan_frozen(Instant local, Instant now);
    /// The application's turn: what arrived is used, and what is sent is computed.
    [[gnu::always_inline]] void apply(Instant now) {
        read_in(now);
        compute(now);
    }
    [[gnu::always_inline]] void read_in(Instant now);
    [[gnu::always_inline]] void compute(Instant now);
    /// Signals as computed, without those that are held at 0.
    std::uint64_t hold(std::uint64_t sent);
    void let_go_of_carried(std::uint64_t made_before, Instant now);
    [[nodiscard]] bool frozen() const {
        const FailingEnd* f = host_.clocks().failing(which);
        return __builtin_expect(f != nullptr, 0) && f->frozen && end_.running();
    }
    [[gnu::always_inline]] void tell_output(Instant now);
    /// The same turn for values; before the drive is commanded.
    void apply_values(Instant now);
    void look_at_values();
    void tell_values_meant(const ValueWord& values, Instant now);
    void tell_values_in_use(Instant now);

    Host& host_;
    EndRun<Host>& end_;
    bool has_to_give_ = false;
    std::uint64_t received_ = 0;   ///< as used, of this link
    std::uint64_t elsewhere_ = 0;  ///< as used, of the cell's other links
    std::uint64_t holds_ = 0, held_ = 0;
    StationValues values_;
    OffDelays off_delays_;
    Pairs pairs_;
    Application application_;
    std::uint64_t carried_ = 0;  ///< of those that are 0: a telegram has carried it
    Duration hold_time_{};
    Instant held_from_ = proto::never;  ///< when the first telegram with what is held was made
};

}  // namespace sim
