// Wrong bytes pass the CRC of a real endpoint as often as is computed, and not more often. Exact binomial test at the
// level of one in a million for each side: too many would be a hole, too few a test that shows nothing. Seeds are
// fixed, so the result is the same each time. Undetected errors of a CRC: IEC 61784-3, residual error probability.
#include <doctest/doctest.h>

#include <array>
#include <boost/math/distributions/binomial.hpp>
#include <cstdint>
#include <string>
#include <vector>

#include "proto/contract.hpp"
#include "proto/crc_catalogue.hpp"
#include "proto/endpoint.hpp"
#include "proto/telegram.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/profiles.hpp"
#include "tests/support/slow_crc.hpp"
#include "tests/support/two_ends.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::Presence;
using Bytes = std::vector<std::uint8_t>;

constexpr double level = 1e-6;

/// Counts what passes the CRC.
class Gate final : public proto::EventSink {
  public:
    std::uint64_t seen = 0, passed = 0;
    std::uint32_t last = 0;  ///< number last accepted

  private:
    void concluded(proto::Token token, const proto::Verdict& v, Instant /*now*/) override {
        if (v.kind == proto::Verdict::Kind::fresh) last = v.number;
        if (token.value == 0) return;  // of the handshake
        ++seen;
        const bool stopped = v.kind == proto::Verdict::Kind::rejected && v.failed.has(proto::Measure::integrity);
        if (!stopped) ++passed;
    }
    void changed(const proto::Transition& /*transition*/, Instant /*now*/) override {}
    void acknowledged(bool /*counted*/, Instant /*now*/) override {}
    void refused(proto::Refusal /*refusal*/, const proto::LinkParameters& /*theirs*/, Instant /*now*/) override {}
};

/// A polled device after its handshake, that survives every rejection.
class Device {
  public:
    Device(const proto::NamedCrc& crc, Presence number) {
        proto::Profile profile;
        profile.name = "chance";
        profile.crc_name = crc.name;
        profile.crc = crc.spec;
        profile.address = {Presence::implied, 16};
        profile.sequence = {number, 8};
        profile.payload_bytes = payload;
        tests::Pair pair = tests::polled_pair(profile);
        pair.both([](proto::LinkSettings& s) {
            s.payload_sent = s.payload_received = payload;
            s.reaction = proto::Reaction::discard;
            s.error_interval = {};
            s.watchdog = s.peer_watchdog = proto::seconds(3600);
        });
        auto made = proto::Endpoint::make(pair.device, gate);
        proto::require(made.ok(), "settings that no endpoint takes");
        device_.push_back(std::move(made).value());
        device_[0].start({}, {}, 1);
        proto::ParameterTelegram theirs;
        theirs.controller_number = 7;
        theirs.parameters = parameters_of(pair.controller);
        handshake(theirs);
        const auto answer = proto::decode_parameters(sent_);
        proto::require(answer.has_value(), "no answer to an offer");
        theirs.step = proto::ParameterTelegram::Step::confirm;
        theirs.device_number = answer->device_number;
        handshake(theirs);
        proto::require(device_[0].connections() == 1, "no handshake");
    }
    static constexpr unsigned payload = 2;

    void take(const Bytes& bytes) {
        device_[0].receive(bytes, {1});
        if (++waiting_ == 32) scan();
    }
    void scan() {
        now_ = now_ + milliseconds(10);
        device_[0].on_deadline(now_);
        tests::poll(device_[0], now_, [this](const proto::Transmission& /*what*/, std::span<const std::uint8_t> bytes) {
            sent_.assign(bytes.begin(), bytes.end());
        });
        waiting_ = 0;
    }
    Gate gate;

  private:
    void handshake(const proto::ParameterTelegram& telegram) {
        Bytes bytes(proto::parameter_telegram_bytes);
        encode(telegram, std::span<std::uint8_t, proto::parameter_telegram_bytes>(bytes));
        device_[0].receive(bytes, {0});
        scan();
    }
    std::vector<proto::Endpoint> device_;
    Instant now_{};
    unsigned waiting_ = 0;
    Bytes sent_;
};

void check_chance(const std::string& what, std::uint64_t passed, std::uint64_t trials, double probability) {
    const boost::math::binomial_distribution<double> law(static_cast<double>(trials), probability);
    const auto k = static_cast<double>(passed);
    const double at_least = passed == 0 ? 1.0 : cdf(complement(law, k - 1));
    const double at_most = cdf(law, k);
    MESSAGE(what << ": " << passed << " of " << trials << " passed, expected " << mean(law)
                 << ", probability of so many or more " << at_least << ", of so few " << at_most);
    CHECK(at_least > level);
    CHECK(at_most > level);
}

const proto::NamedCrc& named(const char* name) {
    const proto::NamedCrc* const crc = proto::find_crc(name);
    proto::require(crc != nullptr, "no such CRC");
    return *crc;
}

constexpr unsigned reserved_bits = 0x70;  ///< of the status byte: a telegram with one of them set is no telegram

/// The share of the error patterns of `flips` bits, in a telegram of `bytes` bytes, that the CRC at its end cannot see
/// and that leave the reserved bits alone: all of them are counted. A CRC is linear, so a pattern is unseen exactly if
/// the changes that its bits make to the CRC add up to nothing.
double unseen_share(const proto::CrcSpec& spec, unsigned bytes, unsigned flips) {
    const unsigned bits = bytes * 8, covered = bits - spec.width;
    const std::uint64_t base = tests::slow_crc(spec, Bytes(covered / 8));
    std::vector<std::uint64_t> change;
    for (unsigned b = 0; b < bits; ++b) {
        Bytes message(covered / 8);
        if (b < covered) {
            message[b / 8] = static_cast<std::uint8_t>(0x80U >> (b % 8));
            change.push_back(tests::slow_crc(spec, message) ^ base);
        } else {
            change.push_back(std::uint64_t{1} << (bits - 1 - b));
        }
    }
    std::uint64_t all = 0, unseen = 0;
    std::vector<unsigned> at(flips);
    for (unsigned i = 0; i < flips; ++i) at[i] = i;
    for (;;) {
        std::uint64_t sum = 0;
        bool reserved = false;
        for (const unsigned b : at) {
            sum ^= change[b];
            reserved = reserved || (b < 8 && (reserved_bits >> (7 - b) & 1U) != 0);
        }
        ++all;
        if (sum == 0 && !reserved) ++unseen;
        unsigned i = flips;
        while (i > 0 && at[i - 1] == bits - flips + i - 1) --i;
        if (i == 0) break;
        ++at[i - 1];
        for (; i < flips; ++i) at[i] = at[i - 1] + 1;
    }
    return static_cast<double>(unseen) / static_cast<double>(all);
}

}  // namespace

TEST_CASE("R-07 R-41 random bytes pass an implied profile as often as its CRC and its tries allow") {
    struct Trial {
        const char* crc;
        std::uint64_t trials;
    };
    for (const Trial& trial : {Trial{"CRC-8/AUTOSAR", 400'000}, Trial{"CRC-16/IBM-3740", 8'000'000}}) {
        const proto::NamedCrc& crc = named(trial.crc);
        Device device(crc, Presence::implied);
        tests::Draws draws(0xC0FFEE);
        const std::uint64_t trials = tests::runs_wanted(trial.trials);
        Bytes bytes(1 + Device::payload + crc.spec.width / 8);
        for (std::uint64_t i = 0; i < trials; ++i) {
            const std::uint64_t random = draws.next();
            for (unsigned k = 0; k < bytes.size(); ++k) bytes[k] = static_cast<std::uint8_t>(random >> (8 * k + 16));
            bytes[0] &= 0x0F;  // else 15 of 16 fail by the bits of the status byte that are always 0
            device.take(bytes);
        }
        device.scan();
        CHECK(device.gate.seen == trials);
        // Two numbers are tried, the next and the last one, and never fit both: 2 of 2^r CRC values pass. Before the
        // first acceptance the last one does not count; that is over after few passes.
        const double probability = 2.0 / static_cast<double>(std::uint64_t{1} << crc.spec.width);
        check_chance(trial.crc, device.gate.passed, trials, probability);
    }
}

TEST_CASE("R-07 random corruption passes as often as the count of unseen patterns says") {
    struct Trial {
        const char* crc;
        unsigned flips;
        std::uint64_t trials;
    };
    for (const Trial& trial : {Trial{"CRC-8/AUTOSAR", 4, 400'000}, Trial{"CRC-8/AUTOSAR", 6, 400'000},
                               Trial{"CRC-16/IBM-3740", 4, 4'000'000}, Trial{"CRC-16/IBM-3740", 8, 4'000'000}}) {
        const proto::NamedCrc& crc = named(trial.crc);
        const unsigned size = 2 + Device::payload + crc.spec.width / 8;
        Device device(crc, Presence::carried);
        auto engine = proto::CrcEngine::make(crc.spec);
        REQUIRE(engine.ok());
        proto::Profile profile;
        profile.address = {Presence::implied, 16};
        profile.sequence = {Presence::carried, 8};
        profile.payload_bytes = Device::payload;
        profile.crc = crc.spec;
        const proto::Codec codec(profile, &engine.value(), End::controller, 0x101, 0x202, Device::payload);
        REQUIRE(codec.layout().total_bytes == size);
        tests::Draws draws(0xBADC0DE);
        const std::uint64_t trials = tests::runs_wanted(trial.trials);
        std::array<std::uint8_t, proto::telegram_bytes_max> good{};
        Bytes bytes(size);
        for (std::uint64_t i = 0; i < trials; ++i) {
            const std::uint64_t random = draws.next();
            proto::Header header;
            header.number = static_cast<std::uint32_t>(random & 0xFF);
            const std::array<std::uint8_t, Device::payload> payload{static_cast<std::uint8_t>(random >> 8),
                                                                    static_cast<std::uint8_t>(random >> 16)};
            codec.encode(header, payload, good);
            std::copy(good.begin(), good.begin() + size, bytes.begin());
            std::uint64_t chosen = 0;
            for (unsigned k = 0; k < trial.flips;) {
                const std::uint32_t b = draws.below(size * 8);
                if ((chosen >> b & 1U) != 0) continue;
                chosen |= std::uint64_t{1} << b;
                bytes[b / 8] = static_cast<std::uint8_t>(bytes[b / 8] ^ (0x80U >> (b % 8)));
                ++k;
            }
            device.take(bytes);
        }
        device.scan();
        CHECK(device.gate.seen == trials);
        check_chance(std::string(trial.crc) + ", " + std::to_string(trial.flips) + " bits flipped", device.gate.passed,
                     trials, unseen_share(crc.spec, size, trial.flips));
    }
}
