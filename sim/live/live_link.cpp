// A live link: its three parts in one process, or one of them.
#include <algorithm>
#include <array>
#include <chrono>
#include <memory>
#include <optional>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/live/live.hpp"
#include "sim/live/live_part.hpp"
#include "sim/live/part_run.hpp"
#include "sim/live/real_time.hpp"
#include "sim/live/typed_address.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// A part that is started anew comes up after so long: by then it has gone through what it wrote down before, and is on
/// time.
Duration comes_up_after(const EarlierStart& earlier) {
    constexpr std::int64_t ns_an_event = 300;
    return proto::milliseconds(100) +
           Duration{static_cast<std::int64_t>(earlier.record.log.events.size()) * ns_an_event};
}

/// What was written down may be later than the mark beside it.
Instant last_sign_of(const EarlierStart& earlier) {
    const auto& events = earlier.record.log.events;
    return events.empty() ? earlier.alive : std::max(earlier.alive, time_of(events.back()));
}

Scenario as_run(const Scenario& scenario, Part part, const std::vector<Absence>& absences) {
    const auto end = end_of(part);
    return end ? with_restarts(scenario, *end, absences) : scenario;
}

/// One part of a link on a socket of its own.
class LinkPartRun final : public PartRun {
  public:
    /// All that is referred to must outlive it. `journal`: nothing to keep everything in memory. `earlier`: see
    /// PartOptions.
    LinkPartRun(PartLoop& loop, const Scenario& scenario, std::uint64_t seed, Part part, const LiveOptions& options,
                PartJournal* journal = nullptr, const EarlierStart* earlier = nullptr);

    /// Requires its peers: an end's channel; or the channel's controller and device.
    void start();
    PartRecord finish();

  private:
    [[nodiscard]] Instant next_event() const override { return live_->next_event(); }
    Duration do_due(Instant now) override { return live_->do_due(now); }
    void hear(std::span<const std::uint8_t> bytes, std::size_t peer) override;
    bool keep() override;
    std::vector<std::int64_t>& lateness_ns() override { return record_.lateness_ns; }
    [[nodiscard]] std::string waits_for(Clock::time_point clock) const override;
    void begin_run();

    Scenario scenario_;  ///< with the restarts by hand of this part
    std::uint64_t seed_;
    Part part_;
    PartJournal* journal_;
    const EarlierStart* earlier_;
    std::unique_ptr<LivePart> live_;
    PartRecord record_;
    std::array<bool, 2> heard_{};
    std::array<Clock::time_point, 2> heard_at_{};
};

LinkPartRun::LinkPartRun(PartLoop& loop, const Scenario& scenario, std::uint64_t seed, Part part,
                         const LiveOptions& options, PartJournal* journal, const EarlierStart* earlier)
    : PartRun(loop, options, run_times(scenario)),
      scenario_(scenario),
      seed_(seed),
      part_(part),
      journal_(journal),
      earlier_(earlier) {
    proto::require(earlier == nullptr || journal != nullptr, "who goes on with a run has what was kept of it");
}

void LinkPartRun::start() {
    EarlierStart again;
    if (earlier_ != nullptr) {
        again = *earlier_;
        go_on_since(Clock::time_point(std::chrono::nanoseconds(earlier_->record.clock_ns)));
        const Instant last = last_sign_of(again);
        again.record.absences.push_back({last, std::max(last, now()) + comes_up_after(again)});
        scenario_ = as_run(scenario_, part_, again.record.absences);
    }
    if (part_ == Part::channel)
        live_ = live_channel(
            scenario_, seed_,
            [this](End to, std::span<const std::uint8_t> bytes) { send(bytes, to == End::controller ? 0 : 1); },
            earlier_ != nullptr ? &again.record : nullptr);
    else
        live_ = live_end(scenario_, seed_, *end_of(part_),
                         [this](End, std::span<const std::uint8_t> bytes) { send(bytes, 0); });
    heard_at_.fill(Clock::now());
    // whoever starts anew must not be taken for whoever was there before
    const auto tick = static_cast<std::uint64_t>(Clock::now().time_since_epoch().count());
    const std::uint64_t entropy = scramble(options().entropy + static_cast<std::uint64_t>(part_)) ^ tick;
    if (earlier_ != nullptr) {
        heard_.fill(true);
        live_->take_up(again.record, entropy);
        record_.absences = {again.record.absences.back()};
        go_on_since(begun_at());
        settle();
    } else {
        live_->start(entropy, now());
    }
    listen();
    arm();
}

PartRecord LinkPartRun::finish() {
    live_->finish(record_);
    return std::move(record_);
}

void LinkPartRun::hear(std::span<const std::uint8_t> bytes, std::size_t peer) {
    // a channel forwards between its two peers only; an end listens to its channel only
    heard_[peer] = true;
    heard_at_[peer] = Clock::now();
    if (!begun() && heard_[0] && (part_ != Part::channel || heard_[1])) begin_run();
    live_->arrive(peer == 0 ? Direction::to_device : Direction::to_controller, bytes, now());
    arm();
}

void LinkPartRun::begin_run() {
    live_->forget();
    begin();
    note_begin(record_, 0, part_ == Part::channel ? 1 : 0);
    if (journal_ != nullptr && !journal_->begin(record_)) cannot_be_kept();
}

bool LinkPartRun::keep() {
    if (journal_ == nullptr) return true;
    live_->move_to(record_);
    // whatever is due by now and not done yet comes after the last sign of life
    const Instant alive = std::min(now(), live_->next_event());
    return journal_->keep(record_, alive, live_->shown().scans);
}

std::string LinkPartRun::waits_for(Clock::time_point clock) const {
    std::vector<MissingPeer> silent;
    for (std::size_t p = 0; p < (part_ == Part::channel ? 2U : 1U); ++p) {
        if (heard_[p] && clock - heard_at_[p] < missed_after) continue;
        const Part peer = part_ != Part::channel ? Part::channel : p == 0 ? Part::controller : Part::device;
        silent.push_back(missing(std::string(name_of(peer)), p, heard_[p], clock - heard_at_[p]));
    }
    if (silent.empty()) return {};
    const std::optional<Instant> at = begun() ? std::optional(now()) : std::nullopt;
    return waiting_line(silent, at) + shown_in_words(scenario_, part_, live_->shown(), at);
}

}  // namespace

std::int64_t steady_clock_ns() {
    return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

Duration goes_on_after(const Scenario& s) {
    return std::max(s.controller.link.watchdog, s.device.link.watchdog) * 2 + proto::milliseconds(300);
}

proto::Result<PartRecords, LiveError> run_live(const Scenario& scenario, std::uint64_t seed,
                                               const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    PartLoop loop;
    std::array<std::unique_ptr<LinkPartRun>, part_count> parts;
    for (unsigned p = 0; p < part_count; ++p) {
        parts[p] = std::make_unique<LinkPartRun>(loop, scenario, seed, static_cast<Part>(p), options);
        if (static_cast<Part>(p) == Part::channel) {
            if (const auto failed = parts[p]->bind({"127.0.0.1", 0})) return *failed;
            continue;
        }
        const TypedEnd& end = static_cast<Part>(p) == Part::controller ? scenario.controller : scenario.device;
        if (const auto failed = parts[p]->bind(own_address(end, options)))
            return refused_address(end, options, *failed);
    }
    for (const Part peer : {Part::controller, Part::device}) {
        auto& end = *parts[static_cast<std::size_t>(peer)];
        auto& channel = *parts[static_cast<std::size_t>(Part::channel)];
        if (const auto failed = end.add_peer(channel.address())) return *failed;
        if (const auto failed = channel.add_peer(end.address())) return *failed;
    }
    for (const auto& part : parts) part->start();
    loop.run();
    PartRecords records;
    for (unsigned p = 0; p < part_count; ++p) records[p] = parts[p]->finish();
    return records;
}

proto::Result<PartRan, LiveError> run_part(const Scenario& scenario, std::uint64_t seed, const PartOptions& part,
                                           const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    PartLoop loop;
    LinkPartRun run(loop, scenario, seed, part.part, options, part.journal, part.earlier ? &*part.earlier : nullptr);
    if (const auto failed = run.bind(part.listen)) return *failed;
    if (const auto failed = run.add_peer(part.peer)) return *failed;
    if (part.part == Part::channel)
        if (const auto failed = run.add_peer(part.second_peer)) return *failed;
    if (options.tell) options.tell("listens on " + run.address().written());
    run.tell_waiting();
    run.start();
    loop.run();
    if (run.unkept()) return LiveError{"what this part saw could not be kept any longer"};
    PartRan ran;
    ran.record = run.finish();
    ran.stopped = run.stopped();
    return ran;
}

}  // namespace sim
