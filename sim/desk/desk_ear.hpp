#pragma once
// What is heard of one link at a desk, kept as it is shown: both ends, the four places of each signal, the machine's
// commands, telegrams, and what happened since it was last asked.
#include <array>
#include <cstdint>
#include <optional>
#include <tuple>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include "sim/desk/desk_trace.hpp"
#include "sim/desk/telegram_record.hpp"
#include "sim/judge/events.hpp"
#include "sim/plant/application.hpp"

namespace sim {

struct Scenario;

class DeskEar {
  public:
    using News = std::variant<Changed, Acknowledged, MachineTold, Contacted, Touched, Demanded>;
    /// Where a signal has a value.
    enum class At : std::uint8_t { computed, sent, received, used };
    /// Signals at one of these places: a bit each, and when each last changed.
    struct Values {
        std::uint64_t now = 0;
        std::array<std::optional<Instant>, signals_max> changed;
    };
    struct OfEnd {
        proto::Cause cause = proto::Cause::power_up;
        std::optional<proto::Measure> measure;
        Instant since{};
        std::optional<Instant> last_good;
    };
    struct OfMachine {
        std::optional<Instant> commanded, last_stop;
        std::optional<std::size_t> last_demand;  ///< the guard
        std::optional<Instant> last_demand_at;
    };

    /// The scenario must outlive it, and so must what it numbers telegrams with.
    DeskEar(const Scenario& scenario, std::size_t link, std::uint64_t& telegrams_so_far);

    using hears =
        std::tuple<Sent, Befell, Underway, Delivered, Unheard, Concluded, Changed, Acknowledged, InUse, OutputsOff,
                   Demanded, OutputUsed, MachineTold, Touched, Contacted, Computed, DriveSlows, SpeedLimited>;
    void hear(const Sent& fact);
    void hear(const Befell& fact);
    void hear(const Underway& fact) { telegrams_.underway(fact); }
    void hear(const Delivered& fact);
    void hear(const Unheard& fact) { telegrams_.unheard(fact, now_); }
    void hear(const Concluded& fact);
    void hear(const Changed& fact);
    void hear(const InUse& fact);
    void hear(const OutputsOff& fact);
    void hear(const Demanded& fact);
    void hear(const MachineTold& fact);
    void hear(const Contacted& fact);
    void hear(const Computed& fact);
    /// Told to people, and nothing else.
    template <class F>
    requires(std::is_same_v<F, Acknowledged> || std::is_same_v<F, Touched>) void hear(const F& fact) {
        news_.emplace_back(fact);
    }
    /// Of interest to who compares two runs.
    template <class F>
    requires(std::is_same_v<F, OutputUsed> || std::is_same_v<F, DriveSlows> ||
             std::is_same_v<F, SpeedLimited>) void hear(const F& fact) {
        trace(fact);
    }

    /// While it is deaf to changes of ends: what is done then is no news.
    void be_deaf(bool deaf) { deaf_ = deaf; }
    void trace_into(std::vector<DeskChange>* trace) { trace_ = trace; }
    /// What happened since the last call.
    [[nodiscard]] std::vector<News> take_news() { return std::exchange(news_, {}); }
    /// Telegrams made and arrived, conclusions, changes of state: how many so far.
    [[nodiscard]] std::uint64_t happenings() const { return happenings_; }
    /// Changes of state of an end, and commands and starts of the machine: how many so far.
    [[nodiscard]] std::uint64_t changes() const { return changes_; }

    [[nodiscard]] const OfEnd& end(End end) const { return ends_[static_cast<std::size_t>(end)]; }
    [[nodiscard]] const OfMachine& machine() const { return machine_; }
    [[nodiscard]] const Values& values(At at) const { return values_[static_cast<std::size_t>(at)]; }
    [[nodiscard]] const TelegramRecord& telegrams() const { return telegrams_; }
    [[nodiscard]] TelegramRecord& telegrams() { return telegrams_; }

  private:
    /// Those of `which` at that place are now as in `signals`.
    void set(At at, std::uint64_t which, std::uint64_t signals, Instant now);
    [[nodiscard]] std::uint64_t received_by(End end) const {
        return applications_[static_cast<std::size_t>(end)].receives();
    }
    [[nodiscard]] std::uint64_t sent_by(End end) const { return applications_[static_cast<std::size_t>(end)].sends(); }
    void took_in(End end, const std::vector<std::uint8_t>& bytes, Instant now);
    template <class F>
    void trace(const F& fact) {
        if (trace_ != nullptr) trace_->emplace_back(fact);
    }

    const Scenario& scenario_;
    std::array<Application, 2> applications_;    ///< by End
    std::array<proto::FieldPlace, 2> payloads_;  ///< by sending end
    TelegramRecord telegrams_;
    std::array<OfEnd, 2> ends_;
    OfMachine machine_;
    std::array<Values, 4> values_;
    std::vector<News> news_;
    std::uint64_t happenings_ = 0, changes_ = 0;
    Instant now_{};  ///< of what was heard last
    std::vector<DeskChange>* trace_ = nullptr;
    bool deaf_ = false;
};

}  // namespace sim
