#include "tools/capture/cell_recorder.hpp"

#include <algorithm>

#include "sim/scenario/whole_cell.hpp"

namespace tools {
namespace {

/// A link that tells nothing for so long has nothing older to tell: the controller is never that long between two
/// scans.
constexpr sim::Duration silent = proto::seconds(10);

void put(CaptureRecorder& recorder, sim::Sent fact, std::span<const std::uint8_t> bytes) {
    fact.bytes = bytes;
    recorder.sent(fact);
}
void put(CaptureRecorder& recorder, sim::Delivered fact, std::span<const std::uint8_t> bytes) {
    fact.bytes = bytes;
    recorder.delivered(fact);
}
void put(CaptureRecorder& recorder, const sim::Befell& fact, std::span<const std::uint8_t>) { recorder.befell(fact); }
void put(CaptureRecorder& recorder, const sim::Unheard& fact, std::span<const std::uint8_t>) { recorder.unheard(fact); }
void put(CaptureRecorder& recorder, const sim::Concluded& fact, std::span<const std::uint8_t>) {
    recorder.concluded(fact);
}

}  // namespace

CellRecorder::CellRecorder(const sim::WholeCell& cell, CaptureFile& file) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        links_.push_back(std::make_unique<Link>(*this, cell.links[i].alone, file, i));
}

void CellRecorder::Link::tell(sim::Instant at, const Fact& fact, std::span<const std::uint8_t> bytes) {
    waiting.push_back({at, fact, {bytes.begin(), bytes.end()}});
    if (at <= heard_last) return;
    heard_last = at;
    all_.pass_on_what_is_complete();
}

/// No link will tell of anything before what the one that is least far has told last.
void CellRecorder::pass_on_what_is_complete() {
    sim::Instant least = proto::never, latest{};
    for (const auto& link : links_) {
        if (!link->full()) least = std::min(least, link->heard_last);
        latest = std::max(latest, link->heard_last);
    }
    pass_on(std::max(least == proto::never ? latest : least, latest - silent));
}

void CellRecorder::pass_on(sim::Instant until) {
    for (;;) {
        Link* next = nullptr;
        for (const auto& link : links_)
            if (!link->waiting.empty() && link->waiting.front().at <= until &&
                (next == nullptr || link->waiting.front().at < next->waiting.front().at))
                next = link.get();
        if (next == nullptr) return;
        const Told told = std::move(next->waiting.front());
        next->waiting.pop_front();
        std::visit([&](const auto& fact) { put(next->recorder, fact, told.bytes); }, told.fact);
    }
}

void CellRecorder::finish() {
    pass_on(proto::never);
    for (const auto& link : links_) link->recorder.finish();
}

}  // namespace tools
