// Two endpoints of one link, with any bytes between them, any times, and restarts of either: outside running the inputs
// are the substitute values, while running no longer than the watchdog allows, and never bytes that the peer did not
// send, as long as nobody forges a CRC.
#include <array>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "proto/endpoint.hpp"
#include "proto/telegram.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

using fuzz::broken;
using namespace proto;
using Bytes = std::vector<std::uint8_t>;

/// Follows one end's state by what it tells.
class Told final : public EventSink {
  public:
    State state = State::start_up;
    void concluded(Token, const Verdict& verdict, Instant) override {
        if (verdict.kind == Verdict::Kind::rejected && verdict.failed.empty()) broken("rejected by nothing");
        if (verdict.kind != Verdict::Kind::rejected && !verdict.failed.empty()) broken("failed and not rejected");
    }
    void changed(const Transition& transition, Instant) override {
        if (transition.from != state) broken("a transition from a state that the end was not in");
        if (name_of(transition.to).empty() || name_of(transition.cause).empty()) broken("a state without a name");
        state = transition.to;
    }
    void acknowledged(bool, Instant) override {}
    void refused(Refusal refusal, const LinkParameters&, Instant) override {
        if (refusal == Refusal::none || name_of(refusal).empty()) broken("refused for nothing");
    }
};

Field field(fuzz::Input& input) {
    const auto presence = static_cast<Presence>(input.below(3));
    const unsigned bits = input.between(1, 32);
    return {presence, presence == Presence::absent ? 0 : bits};
}

void choose_measures(LinkSettings& one, fuzz::Input& input) {
    const unsigned wish = input.byte();
    Profile& profile = one.profile;
    profile.crc = CrcSpec{32, 0xF4ACFB13, 0xFFFFFFFF, false, false, 0};
    profile.address = profile.sequence = {Presence::carried, 16};
    if ((wish & 1U) != 0) one.exchange = Exchange::streaming;
    if ((wish & 2U) != 0) {
        profile.address = field(input);
        profile.sequence = field(input);
        profile.direction = static_cast<Presence>(input.below(3));
    }
    if ((wish & 4U) != 0) {
        profile.feedback = true;
        if (input.flag()) one.max_lag = input.below(40);
    }
    if ((wish & 8U) != 0) {
        profile.time_stamp_bits = input.between(8, 32);
        profile.time_stamp_kind = input.flag() ? StampKind::clock : StampKind::echo;
        one.max_age = milliseconds(input.between(1, 255));
        if (profile.time_stamp_kind == StampKind::clock) one.max_early = milliseconds(input.between(1, 50));
    }
    if ((wish & 16U) != 0) profile.copies = 2;
    if ((wish & 32U) != 0) {
        one.reaction = Reaction::discard;
        one.error_interval = milliseconds(input.below(5000));
    }
    if ((wish & 64U) != 0) one.missing_allowed = input.below(6);
    if ((wish & 128U) != 0) one.answers = Answers::one_a_scan;
}

/// Both ends, which agree but for what `wish` lets differ.
std::array<LinkSettings, 2> settings_of(fuzz::Input& input) {
    LinkSettings one;
    choose_measures(one, input);
    one.payload_sent = one.profile.payload_bytes = input.between(1, 40);
    one.payload_received = input.between(1, 40);
    one.own_address = static_cast<std::uint32_t>(input.number(2));
    one.peer_address = static_cast<std::uint32_t>(input.number(2));
    one.byte_order = input.flag() ? ByteOrder::low_first : ByteOrder::high_first;
    one.watchdog = microseconds(10'001 + static_cast<std::int64_t>(input.number(2)));
    LinkSettings two = one;
    two.end = End::device;
    std::swap(two.own_address, two.peer_address);
    std::swap(two.payload_sent, two.payload_received);
    two.scan = microseconds(input.between(100, 20'000));
    two.watchdog = microseconds(10'001 + static_cast<std::int64_t>(input.number(2)));
    one.peer_watchdog = two.watchdog;
    two.peer_watchdog = one.watchdog;
    if (input.below(16) == 0) two.claimed_level = 3;
    return {one, two};
}

/// Those of telegrams of the same lengths, made once: they take longer than all the rest.
const std::optional<CrcEngine>& tables_of(const LinkSettings& settings) {
    static std::map<std::pair<unsigned, unsigned>, std::optional<CrcEngine>> made;
    const std::pair key{Codec::differing_bytes(settings.profile, settings.payload_sent),
                        Codec::differing_bytes(settings.profile, settings.payload_received)};
    const auto found = made.find(key);
    if (found != made.end()) return found->second;
    return made.emplace(key, Endpoint::tables_for(settings)).first->second;
}

class Link {
  public:
    Link(std::array<Told, 2>& told, std::array<Endpoint, 2> ends, fuzz::Input& input)
        : told_(told),
          ends_(std::move(ends)),
          now_{static_cast<std::int64_t>(input.number(6)) - (std::int64_t{1} << 47)} {
        for (unsigned end = 0; end < 2; ++end) start(end, input);
    }

    void step(fuzz::Input& input) {
        const unsigned what = input.byte();
        const unsigned end = what & 1U;
        switch (what >> 1U & 7U) {
            case 0:
            case 1:
            case 2: exchange(1 + (what >> 6U)); break;
            case 3: {
                const Bytes zeros(input.bytes(input.byte()).size());
                ends_[end].receive(zeros, {});
                break;
            }
            case 4: forge(end, input); break;
            case 5: replay(end, input); break;
            case 6: {
                now_ = std::max(now_, ends_[end].next_deadline()) +
                       Duration{static_cast<std::int64_t>(input.number(5)) / 2};
                scan(end);
                break;
            }
            default: seldom(end, what >> 4U, input);
        }
        check();
    }

  private:
    void start(unsigned end, fuzz::Input& input) {
        ends_[end].start(now_, microseconds(static_cast<std::int64_t>(input.number(2))),
                         input.number(2) + (++starts_ << 16U));
        told_[end].state = State::start_up;
    }

    /// Undisturbed, scan by scan, whoever comes first.
    void exchange(unsigned scans) {
        for (unsigned i = 0; i < 2 * scans; ++i) {
            const unsigned end = ends_[0].next_deadline() <= ends_[1].next_deadline() ? 0 : 1;
            now_ = std::max(now_, ends_[end].next_deadline());
            scan(end);
        }
    }

    void scan(unsigned end) {
        Endpoint& at = ends_[end];
        at.on_deadline(now_);
        if (at.next_deadline() <= now_) broken("the next scan is not later than this one");
        if (const auto sign = at.last_sign_of_life(); at.state() == State::running) {
            if (!sign || now_ - *sign > at.settings().watchdog) broken("running without a sign of life in time");
        }
        const std::span<std::uint8_t> output = at.output();
        ++values_[end];
        for (std::size_t i = 0; i < output.size(); ++i) output[i] = value(end, values_[end], i);
        unsigned sent = 0;
        for (std::array<std::uint8_t, telegram_bytes_max> room{};;) {
            const Transmission made = at.poll_transmit(now_, room);
            if (made.kind == Transmission::Kind::none) break;
            if (made.bytes > room.size()) broken("a telegram longer than any");
            if (++sent > Endpoint::queue_length) broken("sends without an end");
            const auto last = room.begin() + static_cast<std::ptrdiff_t>(made.bytes);
            ends_[1 - end].receive({room.begin(), last}, {});
            wire_[end].assign(room.begin(), last);
            if ((values_[end] & 3U) == 0) old_[end] = wire_[end];
        }
    }

    /// What no application at the other end ever says at the same place, and 0 nowhere.
    static std::uint8_t value(unsigned end, std::uint32_t count, std::size_t at) {
        return static_cast<std::uint8_t>(1 + (count * 2 + end + at * 7) % 255);
    }

    void forge(unsigned end, fuzz::Input& input) {
        const auto given = input.bytes(input.byte());
        ends_[end].receive(Bytes(given.begin(), given.end()), {});
        forged_ = forged_ || given.size() >= 4;
    }

    /// What was on the wire once more, at either end, in one byte bent or shortened.
    void replay(unsigned end, fuzz::Input& input) {
        const unsigned how = input.byte();
        Bytes bytes = (how & 1U) != 0 ? wire_[(how >> 1U) & 1U] : old_[(how >> 1U) & 1U];
        if (bytes.empty()) return;
        if ((how & 4U) != 0) bytes[input.below(bytes.size())] ^= input.byte();
        if ((how & 8U) != 0) bytes.resize(input.below(telegram_bytes_max + 20));
        ends_[end].receive(bytes, {});
    }

    void seldom(unsigned end, unsigned what, fuzz::Input& input) {
        Endpoint& at = ends_[end];
        switch (what & 3U) {
            case 0: at.set_acknowledge(Endpoint::Contact::closed, now_); break;
            case 1: at.set_acknowledge(Endpoint::Contact::open, now_); break;
            case 2: start(end, input); break;
            default: static_cast<void>(at.standing(now_)); static_cast<void>(at.standing_of(wire_[1 - end], now_));
        }
    }

    void check() {
        for (unsigned end = 0; end < 2; ++end) {
            const Endpoint& at = ends_[end];
            if (at.state() != told_[end].state) broken("an end changed its state and did not tell");
            const std::span<const std::uint8_t> input = at.input();
            const bool zero = std::all_of(input.begin(), input.end(), [](std::uint8_t byte) { return byte == 0; });
            if (at.state() != State::running) {
                if (!zero) broken("not running, and the inputs are no substitute values");
            } else if (!zero && !forged_ && !sent_by(1 - end, input)) {
                broken("values that the peer did not send");
            }
            check(at.counters());
            static_cast<void>(at.acknowledgement_requested());
        }
    }

    static void check(const Counters& counted) {
        std::uint64_t sum = counted.accepted + counted.repeats + counted.ignored;
        for (const std::uint64_t rejected : counted.rejected) sum += rejected;
        // the watchdog's rejections are of no telegram
        if (sum - counted.rejected[static_cast<unsigned>(Measure::time_expectation)] > counted.received)
            broken("more was concluded than received");
    }

    [[nodiscard]] bool sent_by(unsigned end, std::span<const std::uint8_t> values) const {
        for (std::uint32_t count = 1; count <= values_[end] && count <= 255; ++count) {
            bool same = true;
            for (std::size_t i = 0; i < values.size() && same; ++i) same = values[i] == value(end, count, i);
            if (same) return true;
        }
        return false;
    }

    std::array<Told, 2>& told_;
    std::array<Endpoint, 2> ends_;
    Instant now_;
    std::array<Bytes, 2> wire_, old_;  ///< the last telegram of each end, and one of before
    std::array<std::uint32_t, 2> values_{};
    std::uint64_t starts_ = 0;
    bool forged_ = false;  ///< bytes that the input chose may hold a right CRC
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const std::array<LinkSettings, 2> settings = settings_of(input);
    std::array<Told, 2> told;
    if (fault_in(settings[0]) || fault_in(settings[1])) return 0;
    const std::optional<CrcEngine>& tables = tables_of(settings[0]);
    auto controller = Endpoint::make(settings[0], told[0], ProfileUse::link, tables);
    auto device = Endpoint::make(settings[1], told[1], ProfileUse::link, tables);
    if (!controller || !device) broken("settings without a fault make no end");
    Link link(told, {std::move(controller).value(), std::move(device).value()}, input);
    constexpr unsigned steps_most = 32;
    for (unsigned step = 0; step < steps_most && !input.empty(); ++step) link.step(input);
    return 0;
}
