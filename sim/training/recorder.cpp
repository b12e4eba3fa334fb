#include "sim/training/recorder.hpp"
#include "sim/scenario/scenario.hpp"

#include <algorithm>
#include <bit>

namespace sim {
namespace {

constexpr std::size_t sent_kept = 64;
constexpr std::size_t scans_kept = 128;  ///< conclusions are told a sample of the bench later at most

void note(Measured& measured, Duration value, Instant now) {
    measured.last = value;
    measured.last_at = now;
    if (!measured.shortest || value < *measured.shortest) measured.shortest = value;
    if (measured.longest && *measured.longest >= value) return;
    measured.longest = value;
    measured.longest_at = now;
}

unsigned differing_bits(const std::vector<std::uint8_t>& a, const std::vector<std::uint8_t>& b) {
    unsigned found = 0;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
        found += static_cast<unsigned>(std::popcount(static_cast<unsigned>(a[i] ^ b[i])));
    return found;
}

}  // namespace

std::optional<std::uint32_t> number_at(std::span<const std::uint8_t> bytes, proto::FieldPlace place) {
    if (place.bits == 0 || place.first_bit + place.bits > bytes.size() * 8) return std::nullopt;
    std::uint64_t value = 0;
    for (unsigned i = 0; i < place.bits; ++i) {
        const unsigned bit = place.first_bit + i;
        value = value << 1 | (bytes[bit / 8] >> (7 - bit % 8) & 1U);
    }
    return static_cast<std::uint32_t>(value);
}

Recorder::Recorder(const Scenario& scenario)
    : scenario_(scenario),
      places_{proto::places_of(scenario.controller.link.profile, scenario.controller.link.payload_sent),
              proto::places_of(scenario.device.link.profile, scenario.device.link.payload_sent)} {}

void Trail::note(Instant at, Duration value) {
    if (!points_.empty() && at < points_.back().at + every_) return;
    points_.push_back({at, value});
    if (points_.size() <= points_max) return;
    // every second one is enough from now on
    for (std::size_t i = 1; i * 2 < points_.size(); ++i) points_[i] = points_[i * 2];
    points_.resize((points_.size() + 1) / 2);
    every_ = every_ + every_;
}

std::uint64_t Recorder::keep(Seen seen) {
    seen.serial = serials_++;
    constexpr std::int64_t ns_per_s = 1'000'000'000;
    if (const std::int64_t second = seen.at.ns / ns_per_s; second != second_) {
        second_ = second;
        of_second_ = last_ones();
    }
    if (to_hold_ > 0) {
        --to_hold_;
        held_.push_back(seen);
    }
    latest_.push_back(std::move(seen));
    if (latest_.size() > kept) latest_.pop_front();
    return serials_ - 1;
}

std::vector<Seen> Recorder::last_ones() const {
    const auto count = static_cast<std::ptrdiff_t>(std::min(readable_at_once, latest_.size()));
    return {latest_.end() - count, latest_.end()};
}

std::vector<Seen> Recorder::readable(Instant now) const {
    const bool quiet = latest_.empty() || now - latest_.back().at > proto::seconds(1);
    return quiet || of_second_.empty() ? last_ones() : of_second_;
}

void Recorder::hold_here() {
    if (holding_) return;
    holding_ = true;
    const std::size_t before = std::min(around_before, latest_.size());
    held_.assign(latest_.end() - static_cast<std::ptrdiff_t>(before), latest_.end());
    to_hold_ = around_after;
}

void Recorder::measure_anew() {
    round_trip_ = {};
    for (Side& one : sides_) {
        one.age = {};
        one.ages = {};
        one.longest_cycle = {};
    }
}

void Recorder::forget_waiting(End end) {
    side(end).waiting.clear();
    side(end).last_scan.reset();
    side(end).last_good.reset();
    // what it had measured itself is forgotten with its counters
    side(end).longest_cycle = {};
    if (end == End::controller) round_trip_ = {};
}

void Recorder::hear(const Sent& sent) {
    const End from = sender(sent.way);
    Seen seen;
    seen.end = from;
    seen.at = sent.at;
    seen.bytes.assign(sent.bytes.begin(), sent.bytes.end());
    seen.number = number_at(sent.bytes, places_[static_cast<std::size_t>(from)].number);
    seen.tag.instance = sent.instance & Tag::instance_max;
    Side& s = side(from);
    if (s.sent.empty() || s.sent.back().instance != seen.tag.instance) {
        s.sent.push_back({seen.tag.instance, sent.at, sent.local, seen.number});
        if (s.sent.size() > sent_kept) s.sent.pop_front();
    }
    last_sent_ = keep(std::move(seen));
}

template <class Change>
void Recorder::of_last_sent(Change change) {
    const auto is_it = [&](const Seen& seen) { return seen.serial == last_sent_; };
    if (const auto found = std::find_if(latest_.rbegin(), latest_.rend(), is_it); found != latest_.rend())
        change(*found);
    if (const auto found = std::find_if(held_.rbegin(), held_.rend(), is_it); found != held_.rend()) change(*found);
}

void Recorder::hear(const Befell& befell) {
    if (befell.fate == Fate::touched || befell.fate == Fate::bent) return;
    of_last_sent([&](Seen& seen) { seen.lost = befell.at; });
}

void Recorder::hear(const Underway& underway) {
    // what a fault sends besides is seen as it arrives
    if (underway.beside) return;
    of_last_sent([&](Seen& seen) { seen.due = underway.due; });
}

void Recorder::hear(const Delivered& delivered) {
    if (!delivered.power_on) return;
    const End at = delivered.to;
    const Tag tag = delivered.tag;
    Seen seen;
    seen.kind = Seen::Kind::arrived;
    seen.end = at;
    seen.at = delivered.at;
    seen.bytes.assign(delivered.bytes.begin(), delivered.bytes.end());
    seen.number = number_at(delivered.bytes, places_[static_cast<std::size_t>(proto::other(at))].number);
    seen.tag = tag;
    if (tag.link == 1 && scenario_.neighbour) seen.fits_address = scenario_.neighbour->address_of(at);
    compare_with_sent(seen);
    Side& s = side(at);
    s.waiting.emplace_back(keep(std::move(seen)), tag);
    // an endpoint's queue holds no more either
    if (s.waiting.size() > proto::Endpoint::queue_length) s.waiting.pop_front();
}

void Recorder::compare_with_sent(Seen& seen) const {
    if (!seen.tag.altered || seen.tag.link != 0) return;
    const End from = sender(seen.tag.direction);
    for (auto it = latest_.rbegin(); it != latest_.rend(); ++it)
        if (it->kind == Seen::Kind::sent && it->end == from && it->tag.instance == seen.tag.instance) {
            seen.bits_changed = differing_bits(it->bytes, seen.bytes);
            return;
        }
}

void Recorder::hear(const Scanned& scanned) {
    Side& s = side(scanned.end);
    if (s.last_scan) s.longest_cycle = std::max(s.longest_cycle, scanned.at - *s.last_scan);
    s.last_scan = scanned.at;
    s.scans.emplace_back(scanned.at, scanned.local);
    if (s.scans.size() > scans_kept) s.scans.pop_front();
}

void Recorder::concluded(End end, std::uint64_t token, const proto::Verdict& verdict, Instant now) {
    Side& s = side(end);
    const auto found = std::find_if(s.waiting.begin(), s.waiting.end(),
                                    [&](const auto& one) { return one.second.token().value == token; });
    if (found == s.waiting.end()) return;
    const std::uint64_t serial = found->first;
    const Tag tag = found->second;
    s.waiting.erase(s.waiting.begin(), found + 1);
    std::optional<std::uint32_t> number;
    const auto conclude = [&](Seen& seen) {
        if (seen.serial != serial) return;
        seen.verdict = verdict;
        seen.looked_at = now;
        number = seen.number;
    };
    std::for_each(latest_.begin(), latest_.end(), conclude);
    std::for_each(held_.begin(), held_.end(), conclude);
    std::for_each(of_second_.begin(), of_second_.end(), conclude);
    if (end == End::controller && number) measure_round_trip(number, now);
    if (verdict.kind == proto::Verdict::Kind::fresh) {
        s.last_good = now;
        measure(end, tag, now);
    }
    if (verdict.kind == proto::Verdict::Kind::handshake) s.offset.reset();
}

void Recorder::measure(End end, const Tag& tag, Instant now) {
    Side& s = side(end);
    const std::deque<Sending>& theirs = side(proto::other(end)).sent;
    const auto sent =
        std::find_if(theirs.rbegin(), theirs.rend(), [&](const Sending& one) { return one.instance == tag.instance; });
    const auto scan = std::find_if(s.scans.rbegin(), s.scans.rend(), [&](const auto& one) { return one.first == now; });
    if (sent == theirs.rend() || scan == s.scans.rend()) return;
    const Duration apart = scan->second - sent->local;
    if (!s.offset) s.offset = apart - (now - sent->at);  // what the start would measure
    note(s.age, apart - *s.offset, now);
    s.ages.note(now, apart - *s.offset);
}

void Recorder::measure_round_trip(std::optional<std::uint32_t> number, Instant now) {
    if (scenario_.controller.link.exchange != proto::Exchange::polled) return;
    std::deque<Sending>& own = side(End::controller).sent;
    // what it sends in the scan in which it concludes comes afterwards
    const auto asked = std::find_if(own.rbegin(), own.rend(),
                                    [&](const Sending& one) { return one.at < now && one.number == number; });
    if (asked == own.rend() || std::exchange(asked->answered, true)) return;
    note(round_trip_, now - asked->at, now);
}

}  // namespace sim
