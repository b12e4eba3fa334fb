#include "sim/integrity/implied_aliases.hpp"

#include <array>
#include <bit>

#include "proto/telegram.hpp"

namespace sim {
namespace {

using proto::Presence;

/// The CRC of a telegram of zeros with these implied fields.
std::uint64_t crc_with(const proto::Profile& profile, const proto::CrcEngine& engine, const ImpliedAlias& implied) {
    const proto::Codec codec(profile, &engine, proto::End::controller, implied.source, implied.destination,
                             profile.payload_bytes);
    static constexpr std::array<std::uint8_t, proto::telegram_bytes_max> zeros{};
    return codec.crc_of(zeros, implied.number);
}

ImpliedAlias both(const ImpliedAlias& a, const ImpliedAlias& b) {
    return {a.destination ^ b.destination, a.source ^ b.source, a.number ^ b.number};
}

}  // namespace

unsigned implied_bits(const proto::Profile& profile) {
    return (profile.address.presence == Presence::implied ? 2 * profile.address.bits : 0) +
           (profile.sequence.presence == Presence::implied ? profile.sequence.bits : 0);
}

std::vector<ImpliedAlias> implied_aliases(const proto::Profile& given) {
    if (!given.crc) return {};
    proto::Profile profile = given;
    profile.zero_as_one = false;  // the one exception from linearity
    const auto engine = proto::CrcEngine::make(*profile.crc);
    if (!engine) return {};

    std::vector<ImpliedAlias> single_bits;
    for (unsigned i = 0; profile.address.presence == Presence::implied && i < profile.address.bits; ++i)
        single_bits.push_back({.destination = std::uint32_t{1} << i});
    for (unsigned i = 0; profile.address.presence == Presence::implied && i < profile.address.bits; ++i)
        single_bits.push_back({.source = std::uint32_t{1} << i});
    for (unsigned i = 0; profile.sequence.presence == Presence::implied && i < profile.sequence.bits; ++i)
        single_bits.push_back({.number = std::uint32_t{1} << i});

    // Gaussian elimination: one reduced change of the CRC for each leading bit
    struct Reduced {
        std::uint64_t change = 0;
        ImpliedAlias cause;
    };
    std::array<Reduced, 64> rows{};
    std::vector<ImpliedAlias> aliases;
    const std::uint64_t zero = crc_with(profile, engine.value(), {});
    for (const ImpliedAlias& bit : single_bits) {
        Reduced now{crc_with(profile, engine.value(), bit) ^ zero, bit};
        while (now.change != 0) {
            Reduced& row = rows[static_cast<std::size_t>(std::bit_width(now.change)) - 1];
            if (row.change == 0) {
                row = now;
                break;
            }
            now.change ^= row.change;
            now.cause = both(now.cause, row.cause);
        }
        if (now.change == 0) aliases.push_back(now.cause);
    }
    return aliases;
}

}  // namespace sim
