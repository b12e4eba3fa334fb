// UDP datagrams in captures: checksums against RFC 1071, headers against RFC 791, RFC 768 and RFC 8200.
#include <array>
#include <vector>

#include <doctest/doctest.h>

#include "sim/capture/datagram.hpp"
#include "sim/numeric/random.hpp"

namespace {

using Bytes = std::vector<std::uint8_t>;

/// Slow and plain: 16-bit words, high byte first, end-around carry.
std::uint16_t sum_of(const Bytes& bytes) {
    std::uint32_t sum = 0;
    for (std::size_t i = 0; i < bytes.size(); i += 2) {
        sum += static_cast<std::uint32_t>(bytes[i] << 8) + (i + 1 < bytes.size() ? bytes[i + 1] : 0U);
        sum = (sum & 0xFFFFU) + (sum >> 16);
    }
    return static_cast<std::uint16_t>(sum);
}

Bytes datagram(const sim::SocketAddress& from, const sim::SocketAddress& to, const Bytes& payload) {
    const sim::DatagramHeader header(from, to);
    Bytes out(header.bytes());
    header.write(payload, out.data());
    out.insert(out.end(), payload.begin(), payload.end());
    return out;
}

/// What the UDP checksum is taken over: addresses, protocol, length, then the datagram itself.
Bytes with_pseudo_header(const Bytes& packet) {
    const bool six = packet[0] >> 4 == 6;
    const std::size_t addresses = six ? 8 : 12, header = six ? 40 : 20;
    Bytes out(packet.begin() + static_cast<std::ptrdiff_t>(addresses),
              packet.begin() + static_cast<std::ptrdiff_t>(header));
    const std::size_t length = packet.size() - header;
    for (const std::size_t value : {std::size_t{0}, std::size_t{17}, length >> 8, length & 0xFF})
        out.push_back(static_cast<std::uint8_t>(value));
    out.insert(out.end(), packet.begin() + static_cast<std::ptrdiff_t>(header), packet.end());
    return out;
}

sim::SocketAddress ipv6(std::uint8_t last, std::uint16_t port) {
    sim::SocketAddress address;
    address.six = true;
    address.host = {0x20, 0x01, 0x0d, 0xb8};  // 2001:db8::/32, for documentation (RFC 3849)
    address.host[15] = last;
    address.port = port;
    return address;
}

}  // namespace

TEST_CASE("the sum of RFC 1071, section 3, is ddf2, its complement 220d") {
    const Bytes bytes{0x00, 0x01, 0xf2, 0x03, 0xf4, 0xf5, 0xf6, 0xf7};
    std::array<std::uint8_t, 2> stored{};
    sim::InternetSum sum;
    sum.add(bytes);
    sum.store(stored.data());
    CHECK(stored == std::array<std::uint8_t, 2>{0x22, 0x0d});
    sim::InternetSum with_it = sum;
    with_it.add(stored);
    CHECK(with_it.right());
    // in pieces, and with an odd byte at the end
    sim::InternetSum pieces;
    pieces.add(std::span(bytes).first(2));
    pieces.add(std::uint16_t{0xf203});
    pieces.add(std::span(bytes).subspan(4));
    pieces.store(stored.data());
    CHECK(stored == std::array<std::uint8_t, 2>{0x22, 0x0d});
    for (std::size_t size = 0; size <= bytes.size(); ++size) {
        const Bytes part(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size));
        sim::InternetSum odd;
        odd.add(part);
        odd.store(stored.data());
        CHECK(static_cast<std::uint16_t>(stored[0] << 8 | stored[1]) == static_cast<std::uint16_t>(~sum_of(part)));
    }
}

TEST_CASE("a UDP checksum of 0 is sent as all ones (RFC 768)") {
    std::array<std::uint8_t, 2> stored{};
    sim::InternetSum sum;
    sum.add(std::uint16_t{0xFFFF});
    sum.store_for_udp(stored.data());
    CHECK(stored == std::array<std::uint8_t, 2>{0xFF, 0xFF});
    sum.store(stored.data());
    CHECK(stored == std::array<std::uint8_t, 2>{0, 0});
}

TEST_CASE("a datagram over IPv4 has the bytes of RFC 791 and RFC 768") {
    const Bytes packet =
        datagram(sim::ipv4({192, 0, 2, 1}, 49701), sim::ipv4({192, 0, 2, 2}, 49702), {0xAB, 0xCD, 0xEF});
    const Bytes expected{0x45, 0,    0,    31,   0,   0, 0x40, 0, 64,   17,   0xB6, 0xCA,  // sum of the rest: 4935
                         192,  0,    2,    1,    192, 0, 2,    2, 0xC2, 0x25, 0xC2, 0x26,
                         0,    11,   0x5C, 0xB9,  // with the pseudo header: A346
                         0xAB, 0xCD, 0xEF};
    CHECK(packet == expected);
    CHECK(sum_of({packet.begin(), packet.begin() + 20}) == 0xFFFF);
    CHECK(sum_of(with_pseudo_header(packet)) == 0xFFFF);
}

TEST_CASE("what is written is read back, with every checksum right, at every length") {
    const std::array<std::array<sim::SocketAddress, 2>, 2> pairs{
        {{sim::ipv4({127, 0, 0, 1}, 1), sim::ipv4({203, 0, 113, 255}, 65535)}, {ipv6(1, 4700), ipv6(2, 4701)}}};
    const sim::Random draws(1, sim::Concern::fault_place, 0);
    for (const auto& [from, to] : pairs) {
        for (std::size_t size = 0; size <= 301; ++size) {
            Bytes payload(size);
            for (std::size_t i = 0; i < size; ++i) payload[i] = static_cast<std::uint8_t>(draws.at(size * 301 + i));
            const Bytes packet = datagram(from, to, payload);
            REQUIRE(sum_of(with_pseudo_header(packet)) == 0xFFFF);
            const auto read = sim::datagram_in(from.six ? sim::link_ipv6 : sim::link_ipv4, packet);
            REQUIRE(read);
            CHECK(read->from == from);
            CHECK(read->to == to);
            CHECK(Bytes(read->payload.begin(), read->payload.end()) == payload);
            CHECK_FALSE(read->cut);
            CHECK_FALSE(read->fragment);
        }
    }
}

TEST_CASE("addresses are written as people write them") {
    CHECK(written(sim::ipv4({192, 0, 2, 1}, 49701)) == "192.0.2.1:49701");
    CHECK(written(ipv6(1, 4700)) == "[2001:db8::1]:4700");
    sim::SocketAddress loopback;
    loopback.six = true;
    CHECK(written(loopback) == "[::]:0");
    loopback.host[15] = 1;
    CHECK(written(loopback) == "[::1]:0");
    loopback.host[0] = loopback.host[4] = 0x20;
    CHECK(written(loopback) == "[2000:0:2000::1]:0");
}

TEST_CASE("packets cut short, trailing bytes and fragments are told apart") {
    const Bytes packet = datagram(sim::ipv4({192, 0, 2, 1}, 1), sim::ipv4({192, 0, 2, 2}, 2), {1, 2, 3, 4});
    Bytes cut(packet.begin(), packet.end() - 2);
    REQUIRE(sim::datagram_in(sim::link_raw, cut));
    CHECK(sim::datagram_in(sim::link_raw, cut)->cut);
    Bytes padded = packet;
    padded.resize(60);  // as an Ethernet frame fills up
    REQUIRE(sim::datagram_in(sim::link_raw, padded));
    CHECK(sim::datagram_in(sim::link_raw, padded)->payload.size() == 4);
    Bytes first = packet, later = packet;
    first[6] = 0x20;
    later[7] = 1;
    REQUIRE(sim::datagram_in(sim::link_raw, first));
    CHECK(sim::datagram_in(sim::link_raw, first)->fragment);
    CHECK_FALSE(sim::datagram_in(sim::link_raw, later));
    // the same behind an Ethernet header with two tags
    Bytes tagged(12);
    for (const int byte : {0x88, 0xA8, 0, 1, 0x81, 0, 0, 2, 8, 0}) tagged.push_back(static_cast<std::uint8_t>(byte));
    tagged.insert(tagged.end(), packet.begin(), packet.end());
    REQUIRE(sim::datagram_in(sim::link_ethernet, tagged));
    CHECK(sim::datagram_in(sim::link_ethernet, tagged)->payload.size() == 4);
    CHECK_FALSE(sim::datagram_in(9999, packet));
}

TEST_CASE("any bytes at all are looked at without harm") {
    const sim::Random draws(2, sim::Concern::fault_place, 0);
    const Bytes good = datagram(ipv6(1, 2), ipv6(3, 4), {1, 2, 3, 4, 5, 6, 7, 8});
    unsigned found = 0;
    for (std::uint64_t round = 0; round < 20'000; ++round) {
        Bytes bytes = good;
        bytes.resize(draws.at(round * 4) % (good.size() + 8));
        for (int i = 0; i < 3 && !bytes.empty(); ++i)
            bytes[draws.at(round * 4 + 1) % bytes.size()] = static_cast<std::uint8_t>(draws.at(round * 4 + 2));
        for (const int link :
             {sim::link_raw, sim::link_ethernet, sim::link_null, sim::link_linux_cooked, sim::link_linux_cooked_2})
            if (const auto read = sim::datagram_in(link, bytes)) {
                ++found;
                REQUIRE(read->payload.size() <= bytes.size());
            }
    }
    CHECK(found > 1000);
}
