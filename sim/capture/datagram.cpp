#include "sim/capture/datagram.hpp"

#include <algorithm>
#include <cstdio>

#include "proto/bytes.hpp"
#include "proto/contract.hpp"

namespace sim {
namespace {

using Bytes = std::span<const std::uint8_t>;

constexpr std::uint8_t tcp = 6, udp = 17;
constexpr unsigned udp_bytes = 8, ipv4_bytes = 20, ipv6_bytes = 40;
constexpr unsigned payload_most = 65'000;

std::uint16_t word_at(Bytes bytes, std::size_t at) {
    return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
}

std::string written_ipv6(const std::array<std::uint8_t, 16>& host) {
    std::array<unsigned, 8> groups{};
    for (std::size_t i = 0; i < 8; ++i) groups[i] = static_cast<unsigned>(host[2 * i] << 8 | host[2 * i + 1]);
    // the longest run of zeros, of two at least, is left out
    unsigned longest = 1, longest_at = 8;
    for (unsigned at = 0; at < 8; ++at) {
        unsigned end = at;
        while (end < 8 && groups[end] == 0) ++end;
        if (end - at > longest) {
            longest = end - at;
            longest_at = at;
        }
    }
    std::string out;
    for (unsigned i = 0; i < 8; ++i) {
        if (i == longest_at) {
            out += "::";
            i += longest - 1;
            continue;
        }
        if (!out.empty() && out.back() != ':') out += ':';
        std::array<char, 8> group{};
        std::snprintf(group.data(), group.size(), "%x", groups[i]);
        out += group.data();
    }
    return out;
}

std::optional<Datagram> transport(std::uint8_t protocol, Bytes bytes, std::size_t on_wire, Datagram datagram) {
    std::size_t header = 0;
    if (protocol == udp && bytes.size() >= udp_bytes) {
        header = udp_bytes;
        // trailing bytes of the IP packet are none of the datagram
        const std::size_t length = word_at(bytes, 4);
        if (length >= udp_bytes) on_wire = std::min(on_wire, length);
    } else if (protocol == tcp && bytes.size() >= 20) {
        datagram.kind = Datagram::Kind::tcp;
        header = std::min(static_cast<std::size_t>(bytes[12] >> 4) * 4, bytes.size());
    } else {
        return std::nullopt;
    }
    datagram.from.port = word_at(bytes, 0);
    datagram.to.port = word_at(bytes, 2);
    const std::size_t end = std::max(header, std::min(on_wire, bytes.size()));
    datagram.payload = bytes.subspan(header, end - header);
    datagram.cut = on_wire > bytes.size();
    return datagram;
}

std::optional<Datagram> internet(Bytes bytes) {
    if (bytes.empty()) return std::nullopt;
    Datagram datagram;
    const unsigned version = bytes[0] >> 4;
    if (version == 4 && bytes.size() >= ipv4_bytes) {
        const std::size_t header = static_cast<std::size_t>(bytes[0] & 15U) * 4;
        const std::size_t total = word_at(bytes, 2);
        const std::size_t here = std::min(total, bytes.size());
        const std::uint16_t fragment = word_at(bytes, 6) & 0x3FFFU;
        if (header < ipv4_bytes || here < header || (fragment & 0x1FFFU) != 0) return std::nullopt;
        datagram.fragment = fragment != 0;
        std::copy_n(bytes.begin() + 12, 4, datagram.from.host.begin());
        std::copy_n(bytes.begin() + 16, 4, datagram.to.host.begin());
        return transport(bytes[9], bytes.subspan(header, here - header), total - header, datagram);
    }
    if (version == 6 && bytes.size() >= ipv6_bytes) {
        const std::size_t length = word_at(bytes, 4);
        const std::size_t here = std::min(length, bytes.size() - ipv6_bytes);
        datagram.from.six = datagram.to.six = true;
        std::copy_n(bytes.begin() + 8, 16, datagram.from.host.begin());
        std::copy_n(bytes.begin() + 24, 16, datagram.to.host.begin());
        return transport(bytes[6], bytes.subspan(ipv6_bytes, here), length, datagram);
    }
    return std::nullopt;
}

}  // namespace

std::string written(const SocketAddress& address) {
    std::array<char, 32> text{};
    if (!address.six) {
        std::snprintf(text.data(), text.size(), "%u.%u.%u.%u:%u", address.host[0], address.host[1], address.host[2],
                      address.host[3], address.port);
        return text.data();
    }
    return "[" + written_ipv6(address.host) + "]:" + std::to_string(address.port);
}

SocketAddress ipv4(std::array<std::uint8_t, 4> host, std::uint16_t port) {
    SocketAddress address;
    std::copy(host.begin(), host.end(), address.host.begin());
    address.port = port;
    return address;
}

DatagramHeader::DatagramHeader(const SocketAddress& from, const SocketAddress& to) : six_(from.six) {
    proto::require(from.six == to.six, "a datagram between two kinds of IP");
    const unsigned address_bytes = six_ ? 16 : 4;
    unsigned at = 0;
    if (six_) {
        ready_[0] = 0x60;
        ready_[6] = udp;
        ready_[7] = 64;
        at = 8;
    } else {
        ready_[0] = 0x45;
        ready_[6] = 0x40;  // not to be fragmented, so that the identification may stay 0
        ready_[8] = 64;
        ready_[9] = udp;
        at = 12;
    }
    std::copy_n(from.host.begin(), address_bytes, ready_.begin() + at);
    std::copy_n(to.host.begin(), address_bytes, ready_.begin() + at + address_bytes);
    const unsigned both_addresses = 2 * address_bytes;
    at += both_addresses;
    if (!six_) ip_.add(Bytes(ready_.data(), at));
    proto::store_be(ready_.data() + at, from.port, 2);
    proto::store_be(ready_.data() + at + 2, to.port, 2);
    // pseudo header: addresses and protocol (RFC 768; RFC 8200, 8.1), and the ports
    udp_.add(Bytes(ready_.data() + at - both_addresses, both_addresses + 4));
    udp_.add(std::uint16_t{udp});
    size_ = at + udp_bytes;
}

void DatagramHeader::write(std::span<const std::uint8_t> payload, std::uint8_t* out) const {
    proto::require(payload.size() <= payload_most, "a datagram is too long");
    std::memcpy(out, ready_.data(), six_ ? ipv6_bytes + udp_bytes : ipv4_bytes + udp_bytes);
    const auto length = static_cast<std::uint16_t>(payload.size() + udp_bytes);
    if (six_) {
        proto::store_be(out + 4, length, 2);
    } else {
        const auto total = static_cast<std::uint16_t>(length + ipv4_bytes);
        proto::store_be(out + 2, total, 2);
        InternetSum sum = ip_;
        sum.add(total);
        sum.store(out + 10);
    }
    std::uint8_t* const udp_header = out + size_ - udp_bytes;
    proto::store_be(udp_header + 4, length, 2);
    InternetSum sum = udp_;
    sum.add(length);  // in the pseudo header
    sum.add(length);
    sum.add(payload);
    sum.store_for_udp(udp_header + 6);
}

std::optional<Datagram> datagram_in(int link_type, std::span<const std::uint8_t> bytes) {
    std::size_t header = 0;
    switch (link_type) {
        case link_ethernet: {
            constexpr std::uint16_t tagged = 0x8100, tagged_twice = 0x88A8;
            header = 14;
            while (bytes.size() >= header &&
                   (word_at(bytes, header - 2) == tagged || word_at(bytes, header - 2) == tagged_twice))
                header += 4;
            break;
        }
        case link_linux_cooked: header = 16; break;
        case link_linux_cooked_2: header = 20; break;
        case link_null:
        case link_loop: header = 4; break;
        case link_raw_here:
        case link_raw:
        case link_ipv4:
        case link_ipv6: break;
        default: return std::nullopt;
    }
    return bytes.size() > header ? internet(bytes.subspan(header)) : std::nullopt;
}

}  // namespace sim
