// What the CRC promises, tried on whole telegrams of each kind of profile.
#include <doctest/doctest.h>

#include <array>
#include <random>

#include "proto/crc_catalogue.hpp"
#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Codec;
using proto::CrcEngine;
using proto::End;
using proto::Profile;
using tests::Bytes;

constexpr std::array<std::uint32_t, 1> tries{0x21};

struct Line {
    Profile profile;
    CrcEngine crc;
    Codec codec;
    Bytes good;

    explicit Line(const Profile& p, unsigned payload_bytes = 3)
        : profile(p), crc(CrcEngine::make(*p.crc).value()), codec(p, &crc, End::device, 0x202, 0x101, payload_bytes) {
        std::array<std::uint8_t, proto::telegram_bytes_max> out{};
        Bytes payload(payload_bytes);
        for (unsigned i = 0; i < payload_bytes; ++i) payload[i] = static_cast<std::uint8_t>(0x35 + 77 * i);
        codec.encode({.status = proto::status_request, .number = tries[0]}, payload, out);
        good.assign(out.begin(), out.begin() + codec.layout().total_bytes);
    }
    Line(const Line&) = delete;
    Line& operator=(const Line&) = delete;
    ~Line() = default;

    [[nodiscard]] bool rejected(const Bytes& bytes) const { return !codec.decode(bytes, tries).failed.empty(); }

    /// Bits `first`.. of the first copy flipped where `pattern` has ones, lowest first, in the order in which the CRC
    /// takes the bits: each byte's lowest bit first if it is reflected.
    void flip(Bytes& bytes, unsigned first, std::uint64_t pattern) const {
        for (unsigned k = 0; pattern != 0; ++k, pattern >>= 1) {
            if ((pattern & 1) == 0) continue;
            const unsigned bit = first + k, in_byte = profile.crc->reflect_in ? bit % 8 : 7 - bit % 8;
            bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1U << in_byte));
        }
    }
    [[nodiscard]] unsigned bits() const { return codec.layout().copy_bytes * 8; }
};

/// Bursts of `length` bits everywhere: first and last bit wrong, `inner` says which between.
unsigned long long misses(const Line& line, unsigned length, std::uint64_t inner) {
    const std::uint64_t pattern =
        length == 1 ? 1
                    : 1 | (inner << 1 & ((std::uint64_t{1} << (length - 1)) - 1)) | std::uint64_t{1} << (length - 1);
    unsigned long long missed = 0;
    Bytes bytes = line.good;
    for (unsigned first = 0; first + length <= line.bits(); ++first) {
        line.flip(bytes, first, pattern);
        if (!line.rejected(bytes)) ++missed;
        line.flip(bytes, first, pattern);
    }
    return missed;
}

std::vector<Profile> profiles_to_try() {
    std::vector<Profile> profiles = tests::profiles_like_shipped();
    Profile single = tests::two_copies_crc16();  // the CRC alone, without the help of the second copy
    single.name = "one copy crc16";
    single.copies = 1;
    profiles.push_back(single);
    Profile odd = single;  // padded to whole bytes
    odd.name = "crc of 15 bits";
    odd.crc = proto::find_crc("CRC-15/MPT1327")->spec;
    profiles.push_back(odd);
    Profile reflected = single;
    reflected.name = "one copy, reflected crc16";
    reflected.crc = proto::find_crc("CRC-16/ARC")->spec;
    profiles.push_back(reflected);
    return profiles;
}

}  // namespace

TEST_CASE("R-07 every single wrong bit is rejected, in both copies and with any payload length") {
    for (const Profile& profile : profiles_to_try()) {
        for (const unsigned payload : {1U, 8U, 61U}) {
            const Line line(profile, payload);
            REQUIRE_FALSE(line.rejected(line.good));
            for (unsigned bit = 0; bit < line.good.size() * 8; ++bit) {
                Bytes bytes = line.good;
                bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1U << bit % 8));
                REQUIRE(line.rejected(bytes));
            }
        }
    }
}

TEST_CASE("R-10 every burst up to the CRC's width is rejected, in the CRC's own order of bits") {
    std::mt19937_64 draws(7);
    for (const Profile& profile : profiles_to_try()) {
        CAPTURE(profile.name);
        const Line line(profile);
        const unsigned width = profile.crc->width;
        for (unsigned length = 1; length <= width; ++length) {
            CAPTURE(length);
            unsigned long long missed = 0;
            const unsigned inner_bits = length < 2 ? 0 : length - 2;
            if (inner_bits <= 11) {  // all of them
                for (std::uint64_t inner = 0; inner < (std::uint64_t{1} << inner_bits); ++inner)
                    missed += misses(line, length, inner);
            } else {  // too many: none between, all between, and drawn ones
                missed += misses(line, length, 0) + misses(line, length, ~std::uint64_t{0});
                for (int i = 0; i < 300; ++i) missed += misses(line, length, draws());
            }
            REQUIRE(missed == 0);
        }
    }
}

TEST_CASE("R-10 sent highest byte first, a reflected CRC would miss bursts: the test above can tell") {
    // The same telegram with its CRC's bytes exchanged, judged by hand: some burst of 16 bits then fits again.
    Profile profile = tests::two_copies_crc16();
    profile.copies = 1;
    profile.crc = proto::find_crc("CRC-16/ARC")->spec;
    const Line line(profile);
    const std::size_t size = line.good.size();
    Bytes wrong_order = line.good;
    std::swap(wrong_order[size - 1], wrong_order[size - 2]);
    unsigned long long missed = 0;
    for (unsigned length = 2; length <= 16; ++length)
        for (std::uint64_t inner = 0; inner < (std::uint64_t{1} << (length - 2)); ++inner) {
            const std::uint64_t pattern = 1 | inner << 1 | std::uint64_t{1} << (length - 1);
            for (unsigned first = line.bits() - 16 - length + 1; first + length <= line.bits(); ++first) {
                Bytes bytes = wrong_order;
                line.flip(bytes, first, pattern);
                std::swap(bytes[size - 1], bytes[size - 2]);
                if (!line.rejected(bytes)) ++missed;
            }
        }
    CHECK(missed > 0);
}
