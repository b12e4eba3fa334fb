// Every order in which telegrams may arrive, up to a depth: the real endpoint and the model agree after each step on
// the state, the verdict on each telegram, the value in use, what is sent and whether an acknowledgement is asked for.
// Nothing is pruned: a sequence is not walked into twice, but each is run from its start. tests/support/effort.hpp says
// how deep.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "proto/contract.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/shadow.hpp"

namespace {

using proto::End;
using proto::Exchange;
using proto::Instant;
using proto::milliseconds;
using proto::Reaction;
using tests::model::Meaning;
using Step = proto::ParameterTelegram::Step;
using Bytes = std::vector<std::uint8_t>;

constexpr proto::Duration scan_time = milliseconds(10);
constexpr proto::Duration watchdog = milliseconds(28);
constexpr std::uint32_t numbers = 8;

enum class Symbol : std::uint8_t {
    nothing,
    next,
    repeat,
    two_back,  ///< the number before the last accepted one
    skipping,  ///< the number after the next one
    foreign,
    corrupt,
    safe,           ///< the next number: the peer is in the safe state (a device: and asks for an acknowledgement)
    acknowledging,  ///< the next number with the acknowledge bit
    two_at_once,    ///< the next one and the one after it in the same scan
    pause,          ///< a scan too late, the next one waiting
    // Only in the walks with all symbols:
    next_twice,
    repeat_then_next,
    corrupt_then_next,
    restart,  ///< the next number with the bit that asks for a new handshake
    press,    ///< the contact is closed and opened again before the scan, and the next one arrives
    late_offer,
    far_ahead,  ///< the number two after the next one
    count,
};
constexpr auto plain_symbols = static_cast<unsigned>(Symbol::next_twice);
constexpr auto all_symbols = static_cast<unsigned>(Symbol::count);
constexpr const char* symbol_names[] = {
    "nothing",     "next",  "repeat",     "two back",    "skipping",     "foreign", "corrupt", "safe",  "acknowledging",
    "two at once", "pause", "next twice", "repeat+next", "corrupt+next", "restart", "press",   "offer", "far ahead"};
static_assert(std::size(symbol_names) == all_symbols);

/// Where the walk begins.
enum class Begin : std::uint8_t { connected, running, stopped };

proto::LinkSettings settings_of(End end, Exchange exchange, Reaction reaction, unsigned missing_allowed) {
    const proto::Profile profile = tests::plain_profile(3);
    tests::Pair pair = exchange == Exchange::polled ? tests::polled_pair(profile) : tests::streaming_pair(profile);
    proto::LinkSettings s = end == End::controller ? pair.controller : pair.device;
    s.watchdog = s.peer_watchdog = watchdog;
    s.reaction = reaction;
    s.error_interval = milliseconds(25);
    s.missing_allowed = missing_allowed;
    return s;
}

struct Scan {
    Instant at{};
    std::vector<Bytes> arrivals;
    bool press = false;
};

class Walk {
  public:
    explicit Walk(const proto::LinkSettings& settings)
        : settings_(settings),
          receives_(settings, proto::other(settings.end)),
          sends_(settings, settings.end),
          real_(settings),
          model_(tests::model_settings(settings)) {}

    /// All sequences of exactly `depth` symbols of the first `symbols`. False at the first disagreement.
    bool all(Begin begin, unsigned depth, unsigned symbols) {
        script_.clear();
        names_.clear();
        model_.start();
        now_ = {};
        prelude(begin);
        symbols_ = symbols;
        return failure_.empty() && below(model_, now_, depth);
    }

    std::uint64_t cases = 0;
    [[nodiscard]] const std::string& failure() const { return failure_; }

  private:
    bool below(const tests::model::Endpoint& model, Instant now, unsigned depth) {
        for (unsigned s = 0; s < symbols_; ++s) {
            names_.push_back(symbol_names[s]);
            tests::model::Endpoint after = model;
            Instant then = now;
            if (depth == 1) ++cases;
            // Shorter sequences were compared before: only the last step needs to be.
            if (!step(static_cast<Symbol>(s), after, then, depth == 1)) return false;
            if (depth > 1 && !below(after, then, depth - 1)) return false;
            script_.pop_back();
            names_.pop_back();
        }
        return true;
    }

    bool step(Symbol symbol, tests::model::Endpoint& model, Instant& now, bool compare) {
        Scan scan;
        const std::vector<Meaning> arriving = telegrams(symbol, model);
        now = now + (symbol == Symbol::pause ? watchdog + scan_time : scan_time);
        scan.at = now;
        scan.press = symbol == Symbol::press;
        return run(std::move(scan), arriving, model, compare);
    }

    /// Appends the scan to the script, lets the model do it and, to compare, the real endpoint the whole script.
    bool run(Scan scan, const std::vector<Meaning>& arriving, tests::model::Endpoint& model, bool compare) {
        if (scan.press) {
            model.contact(true);
            model.contact(false);
        }
        for (const Meaning& m : arriving) {
            scan.arrivals.push_back(receives_.bytes_of(m));
            model.receive(m);
        }
        model.scan(scan.at);
        script_.push_back(std::move(scan));
        const std::uint64_t value = value_at(script_.size());
        if (!compare && !model.draws()) {
            model.send(value);
            return true;
        }
        replay();
        const std::string text = tests::difference(real_, model, sends_, value);
        if (text.empty()) return true;
        failure_.clear();
        for (const char* name : names_) failure_ += std::string(name) + ", ";
        failure_ += ":" + text;
        return false;
    }

    static std::uint64_t value_at(std::size_t scan) { return 1000 + scan; }

    void replay() {
        real_.start({}, 0x5EED);
        for (std::size_t i = 0; i < script_.size(); ++i) {
            const Scan& scan = script_[i];
            if (scan.press) {
                real_.end.set_acknowledge(proto::Endpoint::Contact::closed, scan.at);
                real_.end.set_acknowledge(proto::Endpoint::Contact::open, scan.at);
            }
            for (const Bytes& bytes : scan.arrivals) real_.end.receive(bytes, {});
            real_.scan(scan.at, value_at(i + 1));
        }
    }

    /// Handshake and, as wanted, a first exchange and a stop.
    void prelude(Begin begin) {
        Meaning theirs;
        theirs.kind = Meaning::Kind::parameter;
        theirs.start_number = 6;  // wraps soon
        const auto scan = [&](const std::vector<Meaning>& arriving) {
            now_ = now_ + scan_time;
            run({now_, {}, false}, arriving, model_, true);
        };
        const auto heard = [&] { return sends_.meaning_of(real_.sent_bytes.at(0)); };
        if (settings_.end == End::device) {
            theirs.step = Step::offer;
            theirs.controller_number = 0xC0;
            scan({theirs});
            theirs.step = Step::confirm;
            theirs.device_number = heard().device_number;
            scan({theirs});
        } else {
            scan({});
            theirs.step = Step::answer;
            theirs.controller_number = heard().controller_number;
            theirs.device_number = 0xD0;
            scan({theirs});
            theirs.step = Step::ready;
            scan({theirs});
        }
        first_ = theirs.start_number;
        proto::require(!failure_.empty() || model_.connected(), "the handshake of a walk fails");
        if (begin == Begin::connected || !failure_.empty()) return;
        for (int i = 0; i < 2; ++i) {
            names_.emplace_back("next");
            if (!step(Symbol::next, model_, now_, true)) return;
        }
        if (begin == Begin::stopped) {
            names_.emplace_back("safe");
            if (!step(Symbol::safe, model_, now_, true)) return;
        }
        names_.clear();
    }

    [[nodiscard]] std::vector<Meaning> telegrams(Symbol symbol, const tests::model::Endpoint& model) const {
        const bool controller = settings_.end == End::controller;
        const bool answers = controller && settings_.exchange == Exchange::polled;
        const std::uint32_t next = answers             ? model.number_out()
                                   : model.has_heard() ? (model.last_number() + 1) % numbers
                                                       : first_;
        // Everything that arrives has a value of its own, so that a value that must not be used would be seen.
        std::uint64_t value = 100 * (script_.size() + 1);
        const auto telegram = [&](std::uint32_t number) {
            Meaning m;
            m.number = number % numbers;
            m.value = ++value;
            return m;
        };
        Meaning m = telegram(next);
        switch (symbol) {
            case Symbol::nothing: return {};
            case Symbol::next:
            case Symbol::press:
            case Symbol::pause: return {m};
            case Symbol::repeat: return {telegram(next + numbers - 1)};
            case Symbol::two_back: return {telegram(next + numbers - 2)};
            case Symbol::skipping: return {telegram(next + 1)};
            case Symbol::foreign: m.kind = Meaning::Kind::foreign; return {m};
            case Symbol::corrupt: m.kind = Meaning::Kind::corrupt; return {m};
            case Symbol::safe:
                m.safe = true;
                m.request = controller;
                return {m};
            case Symbol::acknowledging:
                m.acknowledge = true;
                m.safe = !controller;  // a controller is still stopped while it waits for the confirmation
                return {m};
            case Symbol::two_at_once: return {m, telegram(next + 1)};
            case Symbol::next_twice: return {m, telegram(next)};
            case Symbol::repeat_then_next: return {telegram(next + numbers - 1), m};
            case Symbol::corrupt_then_next: {
                Meaning bad = telegram(next);
                bad.kind = Meaning::Kind::corrupt;
                return {bad, m};
            }
            case Symbol::restart: m.restart = true; return {m};
            case Symbol::late_offer: {
                Meaning p;
                p.kind = controller ? Meaning::Kind::foreign_parameter : Meaning::Kind::parameter;
                p.step = Step::offer;
                p.controller_number = 0xBAD0 + script_.size();
                p.start_number = 3;
                return {p};
            }
            case Symbol::far_ahead: return {telegram(next + 2)};
            case Symbol::count: break;
        }
        return {};
    }

    proto::LinkSettings settings_;
    tests::Translator receives_, sends_;
    tests::RealEndpoint real_;
    tests::model::Endpoint model_;
    std::vector<Scan> script_;
    std::vector<const char*> names_;
    std::string failure_;
    Instant now_{};
    std::uint32_t first_ = 0;
    unsigned symbols_ = 0;
};

void walk_everything(End end, Exchange exchange, unsigned missing_allowed, unsigned full) {
    std::uint64_t cases = 0;
    for (const Reaction reaction : {Reaction::trip, Reaction::discard}) {
        for (const Begin begin : {Begin::running, Begin::connected, Begin::stopped}) {
            Walk walk(settings_of(end, exchange, reaction, missing_allowed));
            CAPTURE(static_cast<int>(reaction));
            CAPTURE(static_cast<int>(begin));
            // Shortest first, so that a disagreement is told by a shortest sequence.
            const unsigned depth = begin == Begin::running ? full : full - 1;
            bool agreed = true;
            for (unsigned d = 1; d <= depth && agreed; ++d) agreed = walk.all(begin, d, plain_symbols);
            for (unsigned d = 1; d + 2 <= full && agreed; ++d) agreed = walk.all(begin, d, all_symbols);
            CHECK_MESSAGE(agreed, walk.failure());
            cases += walk.cases;
        }
    }
    MESSAGE("depth " << full << ", " << cases << " sequences");
}

}  // namespace

TEST_CASE("R-01 R-20 R-24 R-71 every order of arrivals at a polled device is taken as the model takes it") {
    walk_everything(End::device, Exchange::polled, 0, tests::depth_wanted());
}
TEST_CASE("R-20 R-25 R-55 R-71 every order of arrivals at a polled controller is taken as the model takes it") {
    walk_everything(End::controller, Exchange::polled, 0, tests::depth_wanted());
}
TEST_CASE("R-30 R-32 every order of arrivals at the device of a stream is taken as the model takes it") {
    walk_everything(End::device, Exchange::streaming, 1, tests::depth_wanted());
}
TEST_CASE("R-30 R-32 every order of arrivals at the controller of a stream is taken as the model takes it") {
    walk_everything(End::controller, Exchange::streaming, 1, tests::depth_wanted() - 1);
}
