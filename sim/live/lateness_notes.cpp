#include "sim/live/lateness_notes.hpp"

#include <algorithm>

namespace sim {
namespace {

/// What is late for no scan and no delivery is told once in so long: at most so many lines more a second.
constexpr Duration told_every = proto::milliseconds(200);

}  // namespace

void LatenessNotes::note_itself(Duration late, Instant now, std::vector<std::int64_t>& into_ns) {
    if (!was_due_in_run(late, now)) return;
    latest_ = std::max(latest_, late);
    if (now < tells_latest_ && latest_ <= allowed_) return;
    into_ns.push_back(latest_.ns);
    latest_ = {};
    tells_latest_ = now + told_every;
}

}  // namespace sim
