#include "sim/live/cell_live.hpp"

#include <algorithm>
#include <memory>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/live/live_part.hpp"
#include "sim/live/part_run.hpp"
#include "sim/live/real_time.hpp"
#include "sim/live/typed_address.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

/// In the first byte of a datagram: from the channel, once the run has begun.
constexpr std::uint8_t has_begun = 0x80;
/// Whoever does not hear the channel for so long says that it is there.
constexpr Duration calls_every = proto::milliseconds(50);

/// All links must last: the longest of their watchdogs counts, and for lateness the shortest.
RunTimes run_times(const WholeCell& cell) {
    RunTimes times = run_times(cell.links.front().alone);
    for (const CellLink& link : cell.links) {
        const RunTimes own = run_times(link.alone);
        times.goes_on = std::max(times.goes_on, own.goes_on);
        times.lateness_allowed = std::min(times.lateness_allowed, own.lateness_allowed);
        times.looks_every = std::min(times.looks_every, own.looks_every);
    }
    return times;
}

/// One part of a cell on a socket of its own.
class CellPartRun final : public PartRun {
  public:
    /// All that is referred to must outlive it.
    CellPartRun(PartLoop& loop, const WholeCell& cell, std::uint64_t seed, const CellPart& part,
                const LiveOptions& options, std::vector<PartJournal*> journals = {});

    /// Requires its peers, as in CellPartOptions.
    void start();
    std::vector<PartRecord> finish();

  private:
    struct Peer {
        bool heard = false;
        Clock::time_point heard_at;
    };
    [[nodiscard]] Instant next_event() const override;
    Duration do_due(Instant now) override;
    void hear(std::span<const std::uint8_t> bytes, std::size_t peer) override;
    bool keep() override;
    std::vector<std::int64_t>& lateness_ns() override { return records_.front().lateness_ns; }
    [[nodiscard]] std::string waits_for(Clock::time_point clock) const override;

    [[nodiscard]] bool is_channel() const { return part_.part == Part::channel; }
    void make_lanes();
    void post(std::size_t link, std::span<const std::uint8_t> telegram, std::size_t peer);
    [[nodiscard]] LivePart::Send sender_of(std::size_t link);
    void hear_at_channel(std::size_t link, std::span<const std::uint8_t> telegram, std::size_t from);
    void hear_at_end(std::size_t link, bool begun_there, std::span<const std::uint8_t> telegram);
    void begin_run();
    void call();
    [[nodiscard]] std::string shown_by_lanes(std::optional<Instant> at) const;

    const WholeCell& cell_;
    CellPart part_;
    std::vector<PartJournal*> journals_;
    std::vector<std::size_t> carried_;  ///< links
    std::vector<Scenario> scenarios_;   ///< of each of these
    std::vector<std::uint64_t> seeds_;  ///< of each of these
    std::unique_ptr<LiveLanes> lanes_;  ///< one for each of these
    std::vector<PartRecord> records_;   ///< of each of these
    std::vector<Peer> peers_;
    std::vector<std::uint8_t> datagram_;
    Instant calls_at_{};
    std::string out_of_place_;  ///< of the channel: who calls from another link's address
};

CellPartRun::CellPartRun(PartLoop& loop, const WholeCell& cell, std::uint64_t seed, const CellPart& part,
                         const LiveOptions& options, std::vector<PartJournal*> journals)
    : PartRun(loop, options, run_times(cell)),
      cell_(cell),
      part_(part),
      journals_(std::move(journals)),
      carried_(links_of(cell, part)),
      records_(carried_.size()),
      peers_(part.part == Part::channel ? cell.links.size() + 1 : 1) {
    proto::require(journals_.empty() || journals_.size() == carried_.size(), "a journal for each link of a part");
    for (const std::size_t link : carried_) {
        scenarios_.push_back(in_cell(cell, link));
        seeds_.push_back(seed_of_link(seed, link));
    }
    make_lanes();
}

void CellPartRun::make_lanes() {
    std::vector<LivePart::Send> sends;
    for (const std::size_t link : carried_) sends.push_back(sender_of(link));
    if (part_.part == Part::controller) {
        lanes_ = live_controller(cell_, scenarios_, seeds_, std::move(sends));
        return;
    }
    std::vector<std::unique_ptr<LivePart>> lanes;
    for (std::size_t i = 0; i < carried_.size(); ++i)
        lanes.push_back(is_channel() ? live_channel(scenarios_[i], seeds_[i], std::move(sends[i]))
                                     : live_end(scenarios_[i], seeds_[i], End::device, std::move(sends[i])));
    lanes_ = live_lanes(std::move(lanes));
}

LivePart::Send CellPartRun::sender_of(std::size_t link) {
    return [this, link](End to, std::span<const std::uint8_t> bytes) {
        post(link, bytes, is_channel() && to == End::device ? 1 + link : 0);
    };
}

void CellPartRun::start() {
    for (Peer& peer : peers_) peer.heard_at = Clock::now();
    calls_at_ = now();
    listen();
    arm();
}

std::vector<PartRecord> CellPartRun::finish() {
    for (std::size_t i = 0; i < carried_.size(); ++i) lanes_->lane(i).finish(records_[i]);
    return std::move(records_);
}

void CellPartRun::post(std::size_t link, std::span<const std::uint8_t> telegram, std::size_t peer) {
    datagram_.assign(1, static_cast<std::uint8_t>(link | (is_channel() && begun() ? has_begun : 0U)));
    datagram_.insert(datagram_.end(), telegram.begin(), telegram.end());
    send(datagram_, peer);
}

Instant CellPartRun::next_event() const {
    const Instant next = begun() ? lanes_->next_event() : proto::never;
    return is_channel() ? next : std::min(next, calls_at_);
}

Duration CellPartRun::do_due(Instant now) {
    Duration late{};
    if (!is_channel() && calls_at_ <= now) {
        late = now - calls_at_;
        call();
    }
    return begun() && lanes_->next_event() <= now ? std::max(late, lanes_->do_due(now)) : late;
}

/// An end says that it is there while it hears nothing from the channel.
void CellPartRun::call() {
    calls_at_ = now() + calls_every;
    if (!begun() || Clock::now() - peers_.front().heard_at > std::chrono::nanoseconds(calls_every.ns))
        post(carried_.front(), {}, 0);
}

void CellPartRun::hear(std::span<const std::uint8_t> bytes, std::size_t peer) {
    if (bytes.empty()) return;
    const std::size_t link = bytes.front() & ~std::size_t{has_begun} & 0xFF;
    const bool flagged = (bytes.front() & has_begun) != 0;
    if (is_channel())
        hear_at_channel(link, bytes.subspan(1), peer);
    else
        hear_at_end(link, flagged, bytes.subspan(1));
    arm();
}

/// It forwards between the controller and the device of each link only.
void CellPartRun::hear_at_channel(std::size_t link, std::span<const std::uint8_t> telegram, std::size_t from) {
    if (link >= cell_.links.size()) return;
    const bool of_controller = from == 0;
    if (!of_controller && from != 1 + link) {
        out_of_place_ = "; " + name_of(cell_, {Part::device, link}) + " calls from " + address_of(from).written() +
                        ", which is another device's in --peer: write them in the order of the links";
        return;
    }
    Peer& peer = peers_[from];
    peer.heard = true;
    peer.heard_at = Clock::now();
    const bool begins = !begun() && std::ranges::all_of(peers_, [](const Peer& one) { return one.heard; });
    if (begins) begin_run();
    if (begun() && !telegram.empty())
        lanes_->lane(link).arrive(of_controller ? Direction::to_device : Direction::to_controller, telegram, now());
    if (telegram.empty() && !begins) post(link, {}, from);
    if (begins || telegram.empty()) settle();
}

void CellPartRun::hear_at_end(std::size_t link, bool begun_there, std::span<const std::uint8_t> telegram) {
    const auto lane = std::find(carried_.begin(), carried_.end(), link);
    if (lane == carried_.end()) return;
    peers_.front().heard = true;
    peers_.front().heard_at = Clock::now();
    if (begun_there && !begun()) begin_run();
    if (begun() && !telegram.empty())
        lanes_->lane(static_cast<std::size_t>(lane - carried_.begin())).arrive(Direction::to_device, telegram, now());
}

void CellPartRun::begin_run() {
    begin();
    calls_at_ = now() + calls_every;
    // whoever starts anew must not be taken for whoever was there before
    const auto tick = static_cast<std::uint64_t>(Clock::now().time_since_epoch().count());
    for (std::size_t i = 0; i < carried_.size(); ++i) {
        PartRecord& record = records_[i];
        note_begin(record, 0, is_channel() ? 1 + carried_[i] : 0);
        const std::uint64_t lane = carried_[i] * part_count + static_cast<std::uint64_t>(part_.part);
        lanes_->lane(i).start(scramble(options().entropy + lane) ^ tick, Instant{});
        if (!journals_.empty() && !journals_[i]->begin(record)) cannot_be_kept();
    }
    if (!is_channel()) return;
    post(0, {}, 0);
    for (const std::size_t link : carried_) post(link, {}, 1 + link);
}

bool CellPartRun::keep() {
    // whatever is due by now and not done yet comes after the last sign of life
    const Instant alive = std::min(now(), lanes_->next_event());
    bool kept = true;
    for (std::size_t i = 0; i < journals_.size(); ++i) {
        LivePart& lane = lanes_->lane(i);
        lane.move_to(records_[i]);
        kept = journals_[i]->keep(records_[i], alive, lane.shown().scans) && kept;
    }
    return kept;
}

std::string CellPartRun::shown_by_lanes(std::optional<Instant> at) const {
    std::string words;
    for (std::size_t i = 0; i < carried_.size() && !is_channel(); ++i) {
        const std::string shown = shown_in_words(scenarios_[i], part_.part, lanes_->lane(i).shown(), at);
        words +=
            "; link " + cell_.links[carried_[i]].name + ": " + shown.substr(std::min<std::size_t>(2, shown.size()));
    }
    return words;
}

std::string CellPartRun::waits_for(Clock::time_point clock) const {
    std::vector<MissingPeer> silent;
    for (std::size_t p = 0; p < peers_.size(); ++p) {
        const Peer& peer = peers_[p];
        if (peer.heard && clock - peer.heard_at < missed_after) continue;
        const CellPart of = !is_channel() ? CellPart{Part::channel, 0}
                            : p == 0      ? CellPart{Part::controller, 0}
                                          : CellPart{Part::device, p - 1};
        silent.push_back(missing(name_of(cell_, of), p, peer.heard, clock - peer.heard_at));
    }
    const std::optional<Instant> at = begun() ? std::optional(now()) : std::nullopt;
    if (!silent.empty()) return waiting_line(silent, at) + out_of_place_ + (at ? shown_by_lanes(at) : "");
    return begun() ? "" : "waits until the channel has heard of all parts";
}

}  // namespace

std::string name_of(const WholeCell& cell, const CellPart& part) {
    return part.part == Part::device ? cell.links[part.link].alone.device.name : std::string(name_of(part.part));
}

std::vector<std::size_t> links_of(const WholeCell& cell, const CellPart& part) {
    if (part.part == Part::device) return {part.link};
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < cell.links.size(); ++i) all.push_back(i);
    return all;
}

Duration lateness_allowed(const WholeCell& cell) { return run_times(cell).lateness_allowed; }

proto::Result<CellRecords, LiveError> run_live_cell(const WholeCell& cell, std::uint64_t seed,
                                                    const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    PartLoop loop;
    std::vector<CellPart> parts{{Part::channel, 0}, {Part::controller, 0}};
    for (std::size_t i = 0; i < cell.links.size(); ++i) parts.push_back({Part::device, i});
    std::vector<std::unique_ptr<CellPartRun>> runs;
    for (const CellPart& part : parts) {
        runs.push_back(std::make_unique<CellPartRun>(loop, cell, seed, part, options));
        if (part.part == Part::channel) {
            if (const auto failed = runs.back()->bind({"127.0.0.1", 0})) return *failed;
            continue;
        }
        const Scenario& alone = cell.links[part.link].alone;
        const TypedEnd& end = part.part == Part::controller ? alone.controller : alone.device;
        if (const auto failed = runs.back()->bind(own_address(end, options)))
            return refused_address(end, options, *failed);
        if (const auto failed = runs.back()->add_peer(runs.front()->address())) return *failed;
        if (const auto failed = runs.front()->add_peer(runs.back()->address())) return *failed;
    }
    for (const auto& run : runs) run->start();
    loop.run();
    CellRecords records(cell.links.size());
    for (std::size_t p = 0; p < runs.size(); ++p) {
        std::vector<PartRecord> own = runs[p]->finish();
        const std::vector<std::size_t> links = links_of(cell, parts[p]);
        for (std::size_t i = 0; i < links.size(); ++i)
            records[links[i]][static_cast<std::size_t>(parts[p].part)] = std::move(own[i]);
    }
    return records;
}

proto::Result<CellPartRan, LiveError> run_cell_part(const WholeCell& cell, std::uint64_t seed,
                                                    const CellPartOptions& part, const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    PartLoop loop;
    CellPartRun run(loop, cell, seed, part.part, options, part.journals);
    if (const auto failed = run.bind(part.listen)) return *failed;
    for (const Address& peer : part.peers)
        if (const auto failed = run.add_peer(peer)) return *failed;
    if (options.tell) options.tell(name_of(cell, part.part) + " listens on " + run.address().written());
    run.tell_waiting();
    run.start();
    loop.run();
    if (run.unkept()) return LiveError{"what this part saw could not be kept any longer"};
    CellPartRan ran;
    ran.records = run.finish();
    ran.stopped = run.stopped();
    return ran;
}

}  // namespace sim
