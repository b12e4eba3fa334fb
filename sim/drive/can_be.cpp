// Records of parts come from elsewhere: what is no record is found here, before anybody reckons with it.
#include <algorithm>
#include <variant>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/join.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// Far beyond any run, and far from where sums of two would leave 64 bits.
constexpr std::int64_t time_most_ns = std::int64_t{4'000'000} * 1'000'000'000;

/// More often nobody starts a part anew within one run.
constexpr std::size_t absences_most = 1000;

bool is_time(Instant at) { return at.ns >= -time_most_ns && at.ns <= time_most_ns; }

bool in_order(const std::vector<Absence>& absences) {
    Instant after{};
    return std::all_of(absences.begin(), absences.end(), [&after](const Absence& absence) {
        const bool fits = is_time(absence.until) && absence.from >= after && absence.until >= absence.from;
        after = absence.until;
        return fits;
    });
}

class Checks {
  public:
    Checks(const Scenario& scenario, Part part, const PartRecord& record)
        : scenario_(scenario),
          part_(part),
          bytes_left_(record.telegrams.size()),
          faults_(scenario.faults.size() + (part == Part::channel ? 0 : record.absences.size())) {}

    bool fits(const Event& event) {
        return is_time(time_of(event)) && std::visit([this](const auto& e) { return is(e); }, event);
    }
    /// Numbers of what was offered lie as close as they were written.
    [[nodiscard]] bool numbers_fit(std::size_t events) const {
        return last_number_ == 0 || last_number_ - first_number_ < events;
    }

  private:
    [[nodiscard]] bool of_channel() const { return part_ == Part::channel; }
    [[nodiscard]] bool of(End end) const { return part_ == part_of(end); }
    [[nodiscard]] bool is_fault(std::size_t fault) const { return fault < faults_; }
    [[nodiscard]] bool is_tag(const Tag& tag) const {
        return tag.injection <= scenario_.faults.size() && tag.link <= (scenario_.neighbour ? 1 : 0);
    }
    bool takes(std::uint64_t bytes) {
        if (bytes > proto::telegram_bytes_max || bytes > bytes_left_) return false;
        bytes_left_ -= bytes;
        return true;
    }

    [[nodiscard]] bool is(const LoggedSending& e) const { return of(sender(e.way)); }
    [[nodiscard]] bool is(const LoggedParameter& e) const { return of(sender(e.way)); }
    [[nodiscard]] bool is(const LoggedRepeat& e) const { return of(sender(e.way)); }
    [[nodiscard]] bool is(const LoggedArrival& e) const { return of(e.end); }
    bool is(const LoggedOffer& e) {
        if (!of_channel() || e.number <= last_number_ || e.number > Tag::instance_max) return false;
        if (last_number_ == 0) first_number_ = e.number;
        last_number_ = e.number;
        return takes(e.bytes);
    }
    bool is(const LoggedDelivery& e) { return of_channel() && is_tag(Tag::from(e.tag)) && takes(e.bytes); }
    [[nodiscard]] bool is(const Befell& e) const {
        return of_channel() && is_tag(e.tag) && static_cast<unsigned>(e.fate) <= static_cast<unsigned>(last_fate);
    }
    [[nodiscard]] bool is(const Touched& e) const { return is_fault(e.fault) && is_time(e.since); }
    [[nodiscard]] bool is(const Concluded& e) const {
        return of(e.end) && static_cast<unsigned>(e.verdict.kind) <= static_cast<unsigned>(last_verdict);
    }
    [[nodiscard]] bool is(const Changed& e) const {
        const proto::Transition& t = e.transition;
        constexpr auto states = static_cast<unsigned>(proto::State::awaiting_acknowledgement);
        return of(e.end) && static_cast<unsigned>(t.from) <= states && static_cast<unsigned>(t.to) <= states &&
               static_cast<unsigned>(t.cause) <= static_cast<unsigned>(proto::Cause::start_failed) &&
               (!t.measure || static_cast<unsigned>(*t.measure) < proto::measure_count);
    }
    [[nodiscard]] bool is(const Demanded& e) const { return e.demand < scenario_.demands.size(); }
    [[nodiscard]] bool is(const DemandedElsewhere& e) const { return e.demand < scenario_.demands.size(); }
    [[nodiscard]] bool is(const Contacted& e) const { return e.safeguard < scenario_.safeguards.size(); }
    [[nodiscard]] bool is(const MachineTold& e) const {
        return scenario_.machine && (!e.command || *e.command <= DriveCommand::stop_category_0);
    }
    [[nodiscard]] bool is(const InUse& e) const { return of(e.end); }
    [[nodiscard]] bool is(const OutputsOff& e) const { return of(e.end); }
    [[nodiscard]] bool is(const Computed& e) const { return of(e.end); }
    [[nodiscard]] bool is(const Connected& e) const { return of(sender(e.way)); }
    [[nodiscard]] bool is(const Acknowledged&) const { return of(End::controller); }
    [[nodiscard]] bool is(const DriveSlows&) const { return scenario_.machine.has_value(); }

    static constexpr auto last_fate = Fate::crowded_out;
    static constexpr auto last_verdict = proto::Verdict::Kind::rejected;

    const Scenario& scenario_;
    Part part_;
    std::uint64_t bytes_left_;
    std::size_t faults_;  ///< the scenario's own, and restarts by hand
    std::uint64_t first_number_ = 0, last_number_ = 0;
};

}  // namespace

bool can_be(const Scenario& scenario, Part part, const PartRecord& record) {
    if (record.absences.size() > absences_most || !in_order(record.absences)) return false;
    Checks checks(scenario, part, record);
    const auto& events = record.log.events;
    return std::all_of(record.lateness_ns.begin(), record.lateness_ns.end(),
                       [](std::int64_t late) { return late >= 0 && late <= time_most_ns; }) &&
           std::all_of(events.begin(), events.end(), [&](const Event& event) { return checks.fits(event); }) &&
           checks.numbers_fit(events.size());
}

}  // namespace sim
