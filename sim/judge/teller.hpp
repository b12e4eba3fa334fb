#pragma once
// Between the world and whoever listens: the observer at once, or a log for later.
#include "sim/judge/judge_log.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/witnesses.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

class Teller final : public InjectionLog {
  public:
    explicit Teller(Observer& observer) : observer_(observer) {}
    /// From now on everything goes into `log` instead, which must outlive this.
    void write_to(JudgeLog& log) {
        log_ = &log;
        besides_ = true;
    }
    /// From now on `trace` hears conclusions too; nullptr: it does not.
    void tell(TelegramTrace* trace) {
        trace_ = trace;
        besides_ = trace_ != nullptr || line_ != nullptr || log_ != nullptr;
    }
    /// `line` hears of changes besides; it must outlive this.
    void draw(TimeLine& line) {
        line_ = &line;
        besides_ = true;
    }
    [[nodiscard]] bool writes() const { return log_ != nullptr; }

    /// A process or parameter telegram left an end of the link under rehearsal; returns the instance that it carries.
    std::uint64_t sent(Direction direction, proto::Transmission::Kind kind, std::uint64_t last_instance,
                       std::uint64_t signals, std::span<const std::uint8_t> bytes, Instant now) {
        if (__builtin_expect(log_ != nullptr, 0)) return log_sent(direction, kind, last_instance, signals, bytes, now);
        return kind == proto::Transmission::Kind::fresh ? observer_.produced(direction, signals, now) : last_instance;
    }
    void connected(Direction direction, Instant now) {
        if (log_ == nullptr) return observer_.connected(direction);
        add(JudgeRecord::Kind::connected, direction, now);
    }
    void concluded(End end, proto::Token token, const proto::Verdict& verdict, Instant now) {
        if (__builtin_expect(besides_, 0) && concluded_besides(end, token, verdict, now)) return;
        observer_.concluded(end, token, verdict, now);
    }
    void changed(End end, const proto::Transition& transition, Instant now) {
        if (line_ != nullptr) line_->changed(end, transition, now);
        if (log_ == nullptr) return observer_.changed(end, transition, now);
        add(JudgeRecord::Kind::changed, end, now, packed(transition));
    }
    void acknowledged(bool counted, Instant now) {
        if (log_ == nullptr) return observer_.acknowledged(counted);
        add(JudgeRecord::Kind::acknowledged, End::controller, now, counted ? 1 : 0);
    }
    void in_use(End end, std::uint64_t signals, Instant now) {
        if (__builtin_expect(besides_, 0)) return in_use_besides(end, signals, now);
        observer_.in_use(end, signals, now);
    }
    void outputs_off(End end, Instant now) {
        if (line_ != nullptr) line_->outputs_off(end, now);
        if (log_ == nullptr) return observer_.outputs_off(end, now);
        add(JudgeRecord::Kind::outputs_off, end, now);
    }
    void demanded(std::size_t demand, std::uint64_t signals, Instant now) {
        if (log_ == nullptr) return observer_.demanded(demand, signals, now);
        add(JudgeRecord::Kind::demanded, End::controller, now, demand, signals);
    }
    /// The drive was commanded, or (nothing) the machine was started.
    void machine(std::optional<DriveCommand> command, Instant now) {
        if (line_ != nullptr) line_->machine(command, now);
        if (log_ == nullptr) return observer_.machine(command, now);
        add(JudgeRecord::Kind::machine, End::controller, now, command ? 1 + static_cast<std::uint64_t>(*command) : 0);
    }
    void touched(std::size_t fault, Direction direction, Instant since, Instant now) override {
        if (log_ == nullptr) return observer_.touched(fault, direction, since, now);
        add(JudgeRecord::Kind::touched, direction, now, fault, static_cast<std::uint64_t>(since.ns));
    }

  private:
    // Writing the log is kept out of the loop in virtual time, which has none.
    [[gnu::noinline]] std::uint64_t log_sent(Direction direction, proto::Transmission::Kind kind,
                                             std::uint64_t last_instance, std::uint64_t signals,
                                             std::span<const std::uint8_t> bytes, Instant now) {
        const bool fresh = kind == proto::Transmission::Kind::fresh;
        if (kind == proto::Transmission::Kind::again) return last_instance;
        add(fresh ? JudgeRecord::Kind::produced : JudgeRecord::Kind::parameter, direction, now,
            identity_of_bytes(bytes), signals);
        return fresh ? last_instance + 1 : last_instance;
    }
    [[gnu::noinline]] void in_use_besides(End end, std::uint64_t signals, Instant now) {
        if (line_ != nullptr) line_->in_use(end, signals, now);
        if (log_ == nullptr) return observer_.in_use(end, signals, now);
        add(JudgeRecord::Kind::in_use, end, now, signals);
    }
    /// True if the observer is not to hear it now.
    [[gnu::noinline]] bool concluded_besides(End end, proto::Token token, const proto::Verdict& verdict, Instant now) {
        if (trace_ != nullptr) trace_->concluded(end, verdict, now);
        if (log_ == nullptr) return false;
        add(JudgeRecord::Kind::concluded, end, now, token.value, packed(verdict));
        return true;
    }
    template <class Place>
    [[gnu::noinline]] void add(JudgeRecord::Kind kind, Place place, Instant now, std::uint64_t a = 0,
                               std::uint64_t b = 0) {
        log_->push_back({kind, static_cast<std::uint8_t>(place), now, a, b, 0});
    }

    Observer& observer_;
    JudgeLog* log_ = nullptr;
    TelegramTrace* trace_ = nullptr;
    TimeLine* line_ = nullptr;
    bool besides_ = false;  ///< there is one of the three: a single question for all
};

}  // namespace sim
