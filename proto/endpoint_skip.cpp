// Passing over quiet periods: everything that grows in an undisturbed exchange grows at once. A period is one in
// which each telegram arrived in order and everything stood afterwards as before, so all growth is a plain multiple.
#include <algorithm>
#include <array>

#include "proto/bytes.hpp"
#include "proto/endpoint_core.hpp"

namespace proto {
namespace {

/// Brings one more value into a sum (multiply and fold; the odd constant is 2^64 over the golden ratio).
void mix(std::uint64_t& sum, std::uint64_t value) {
    sum = (sum ^ value) * 0x9E3779B97F4A7C15ULL;
    sum ^= sum >> 29;
}

void mix(std::uint64_t& sum, const std::uint8_t* bytes, unsigned count) {
    std::uint64_t word = 0;
    for (unsigned i = 0; i < count; ++i) {
        word = word << 8 | bytes[i];
        if (i % 8 == 7) mix(sum, word);
    }
    mix(sum, word);
}

/// How far a telegram's implied number may lie from the numbers reached: what can be on the way or waiting at once.
constexpr unsigned near_ahead = 64;
constexpr unsigned near_behind = 4;

}  // namespace

Codec::Decoded Endpoint::Core::decode_near(std::span<const std::uint8_t> bytes) const {
    if (settings_.profile.sequence.presence != Presence::implied) return in_codec_.decode(bytes);
    const std::uint32_t middle = polled() && controller() ? own_number_ - 1 : peer_number_;
    const unsigned ahead = polled() ? near_behind : near_ahead;
    // Filled before it is read, and often. NOLINTNEXTLINE(cppcoreguidelines-pro-type-member-init)
    std::array<std::uint32_t, near_ahead + near_behind + 1> numbers;
    unsigned count = 0;
    for (unsigned i = 1; i <= ahead; ++i) numbers[count++] = (middle + i) & mask();
    for (unsigned i = 0; i <= near_behind; ++i) numbers[count++] = (middle - i) & mask();
    return in_codec_.decode(bytes, {numbers.data(), count});
}

std::uint64_t Endpoint::Core::header_standing(const Header& header, Instant now) const {
    std::uint64_t sum = header.status;
    mix(sum, (header.number - peer_number_) & mask());
    if (settings_.profile.feedback) mix(sum, (header.feedback - own_number_) & mask());
    if (settings_.profile.time_stamp_bits != 0) {
        mix(sum, (header.stamp - stamp(now)) & low_mask(settings_.profile.time_stamp_bits));
        if (echo_bits(settings_.profile) != 0)
            mix(sum, (header.echo - stamp(now)) & low_mask(settings_.profile.time_stamp_bits));
    }
    return sum;
}

std::optional<std::uint64_t> Endpoint::Core::standing_of(std::span<const std::uint8_t> bytes, Instant now) const {
    const Codec::Decoded telegram = decode_near(bytes);
    if (!telegram.readable || !telegram.failed.empty()) return std::nullopt;
    std::uint64_t sum = header_standing(telegram.header, now);
    mix(sum, telegram.payload, settings_.payload_received);
    return sum;
}

std::optional<std::uint64_t> Endpoint::Core::standing(Instant now) const {
    if (phase_ != Phase::exchanging || !accepted_any_ || reply_ || send_due_) return std::nullopt;
    auto sum = static_cast<std::uint64_t>(state_);
    for (const bool flag : {contact_.closed(), waiting_, acknowledging_, needs_restart_, peer_ready_, fresh_due_,
                            clean_.enough(), watchdog_.armed()})
        sum = sum << 1 | (flag ? 1U : 0U);
    mix(sum, std::uint64_t{clean_.count()} << 32 | answers_due_);
    mix(sum, static_cast<std::uint64_t>((next_scan_ - now).ns));
    if (watchdog_.armed()) mix(sum, static_cast<std::uint64_t>((now - watchdog_.last()).ns));
    // a polled device sends no numbers of its own: its own number never moves
    const bool counts = controller() || !polled();
    if (counts) mix(sum, (own_number_ - peer_number_) & mask());
    mix(sum, (counters_.number_sent - peer_number_) & mask());
    mix(sum, (counters_.number_received - peer_number_) & mask());
    if (settings_.profile.time_stamp_bits != 0)
        mix(sum, (peer_stamp_ - stamp(now)) & low_mask(settings_.profile.time_stamp_bits));
    mix(sum, input_.data(), settings_.payload_received);
    mix(sum, output_.data(), settings_.payload_sent);
    if (polled()) {
        const std::array<std::uint32_t, 1> sent{counters_.number_sent};
        const Codec::Decoded kept = out_codec_.decode(bytes_sent(), sent);
        if (!kept.readable || !kept.failed.empty()) return std::nullopt;
        mix(sum, header_standing(kept.header, now));
        mix(sum, kept.payload, settings_.payload_sent);
    }
    mix(sum, queued_);
    for (unsigned i = 0; i < queued_; ++i) {
        const auto waiting = standing_of({queue_[i].bytes.data(), queue_[i].size}, now);
        if (!waiting) return std::nullopt;
        mix(sum, *waiting);
    }
    return sum;
}

// In the periods the peer's numbers grow by what is accepted. Own numbers grow by what is sent, in a polled link by
// what is answered. All of it comes back in the peer's feedback.

Endpoint::Core::Growth Endpoint::Core::growth_received(std::uint64_t periods, const QuietPeriod& period) const {
    const std::uint64_t own = polled() ? period.accepted : period.sent;
    const std::int64_t units = period.lasting.ns / settings_.profile.time_stamp_unit.ns;
    return {static_cast<std::uint32_t>(periods * period.accepted), static_cast<std::uint32_t>(periods * own),
            static_cast<std::uint32_t>(periods * static_cast<std::uint64_t>(units))};
}

Endpoint::Core::Growth Endpoint::Core::growth_sent(std::uint64_t periods, const QuietPeriod& period) const {
    const Growth received = growth_received(periods, period);
    return {received.feedback, received.number, received.stamp};
}

void Endpoint::Core::grow(const Codec& codec, const Codec::Decoded& telegram, const Growth& by, std::uint32_t stamps,
                          std::span<std::uint8_t, telegram_bytes_max> bytes) {
    require(telegram.readable && telegram.failed.empty(), "skip() with a telegram that is not in order");
    Header header = telegram.header;
    header.number = (header.number + by.number) & codec.number_mask();
    header.feedback = (header.feedback + by.feedback) & codec.number_mask();
    header.stamp = (header.stamp + by.stamp) & stamps;
    header.echo = (header.echo + by.stamp) & stamps;
    std::array<std::uint8_t, payload_bytes_max> payload{};
    std::copy_n(telegram.payload, codec.layout().payload_bytes, payload.begin());
    codec.encode(header, {payload.data(), codec.layout().payload_bytes}, bytes);
}

void Endpoint::Core::skip_on_the_way(std::span<std::uint8_t, telegram_bytes_max> room, std::size_t bytes,
                                     std::uint64_t periods, const QuietPeriod& period) const {
    grow(in_codec_, decode_near(room.first(bytes)), growth_received(periods, period),
         low_mask(settings_.profile.time_stamp_bits), room);
}

void Endpoint::Core::skip(std::uint64_t periods, const QuietPeriod& period) {
    require(phase_ == Phase::exchanging && accepted_any_ && !reply_ && !send_due_, "skip() outside a steady exchange");
    require(period.accepted != 0 || !watchdog_.armed(), "skip() over a watchdog that may expire");
    require(
        period.lasting.ns % settings_.scan.ns == 0 &&
            (settings_.profile.time_stamp_bits == 0 || period.lasting.ns % settings_.profile.time_stamp_unit.ns == 0),
        "skip() over broken scans or stamps");
    const Growth in = growth_received(periods, period);
    const Growth out = growth_sent(periods, period);
    const std::uint32_t stamps = low_mask(settings_.profile.time_stamp_bits);

    // telegrams that are kept, read by the numbers that stand now
    for (unsigned i = 0; i < queued_; ++i) {
        const std::span<std::uint8_t, telegram_bytes_max> bytes(queue_[i].bytes.data(), telegram_bytes_max);
        skip_on_the_way(bytes, queue_[i].size, periods, period);
    }
    if (polled()) {
        const std::array<std::uint32_t, 1> sent{counters_.number_sent};
        grow(out_codec_, out_codec_.decode(bytes_sent(), sent), out, stamps, last_sent_.bytes);
    }

    const Duration by = period.lasting * static_cast<std::int64_t>(periods);
    next_scan_ = next_scan_ + by;
    if (watchdog_.armed()) watchdog_.arm(watchdog_.last() + by);
    if (controller() || !polled()) own_number_ = (own_number_ + out.number) & mask();
    peer_number_ = (peer_number_ + in.number) & mask();
    if (settings_.profile.time_stamp_bits != 0) peer_stamp_ = (peer_stamp_ + in.stamp) & stamps;
    if (settings_.byte_order == ByteOrder::low_first) input_revision_ += static_cast<std::uint32_t>(in.number);
    counters_.accepted += periods * period.accepted;
    counters_.repeats += periods * period.repeats;
    counters_.received += periods * (period.accepted + period.repeats);
    counters_.sent += periods * period.sent;
    counters_.number_sent = (counters_.number_sent + out.number) & mask();
    counters_.number_received = (counters_.number_received + in.number) & mask();
}

}  // namespace proto
