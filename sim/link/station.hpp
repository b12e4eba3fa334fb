#pragma once
// A place of the plant with a processor of its own: it owns the scan and the application of the ends there. One scan
// is: take all that arrived, compute, give all. Today it has one end; with one end it is written out as what one scan
// was.
//
// Host: what the station is in. Besides what EndRun asks of it:
//   Plant& plant()
//   void drive(std::uint64_t signals)         the output's end uses these
//   void wake(End, Instant at)                its application has to compute anew then
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
          application_(scenario, which),
          off_delays_(scenario, which),
          pairs_(scenario, which),
          values_(scenario, which) {}

    /// When it is next scanned, in true time.
    [[nodiscard]] Instant next_scan() const { return host_.clocks().deadline(which, end_.endpoint().next_deadline()); }
    /// Requires next_scan() <= now.
    [[gnu::always_inline]] void scan(Instant now);
    [[nodiscard]] const Application& application() const { return application_; }
    /// As it was at first.
    void begin_again() {
        off_delays_.begin_again();
        pairs_.begin_again();
        values_.begin_again();
    }

  private:
    void scan_frozen(Instant local, Instant now);
    /// The application's turn: what arrived is used, and what is sent is computed.
    [[gnu::always_inline]] void apply(Instant now);
    [[gnu::always_inline]] void tell_output(Instant now);
    /// The same turn for values; before the drive is commanded.
    void apply_values(Instant now);
    void tell_values_meant(const ValueWord& values, Instant now);
    void tell_values_in_use(Instant now);

    Host& host_;
    EndRun<Host>& end_;
    Application application_;
    OffDelays off_delays_;
    Pairs pairs_;
    StationValues values_;
};

}  // namespace sim
