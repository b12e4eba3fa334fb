#pragma once
// UDP datagrams as they stand in a capture: written for the hops of a link, and read out of anybody's packets.
#include <array>
#include <compare>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "sim/capture/internet_sum.hpp"

namespace sim {

/// Of IPv4 (the first four bytes count) or IPv6.
struct SocketAddress {
    std::array<std::uint8_t, 16> host{};
    std::uint16_t port = 0;
    bool six = false;
    friend auto operator<=>(const SocketAddress&, const SocketAddress&) = default;
};
/// "192.0.2.1:49701", "[::1]:4701" (RFC 5952, without its shortest form of embedded IPv4 addresses).
std::string written(const SocketAddress& address);
/// 192.0.2.1 and the like.
SocketAddress ipv4(std::array<std::uint8_t, 4> host, std::uint16_t port);

/// IP and UDP header of datagrams from one socket to another, ready but for length and checksums. Not fragmented
/// (RFC 6864), hop limit 64.
class DatagramHeader {
  public:
    static constexpr unsigned bytes_max = 48;
    /// Requires both of the same kind.
    DatagramHeader(const SocketAddress& from, const SocketAddress& to);
    [[nodiscard]] unsigned bytes() const { return size_; }
    /// Writes bytes() bytes, lengths and checksums right for `payload` (at most 65 000 bytes).
    void write(std::span<const std::uint8_t> payload, std::uint8_t* out) const;

  private:
    std::array<std::uint8_t, bytes_max> ready_{};
    unsigned size_ = 0;
    bool six_ = false;
    InternetSum ip_, udp_;  ///< of what does not change
};

/// How the link layer of a packet is numbered in captures (the list of link-layer header types at tcpdump.org).
enum LinkType : int {
    link_null = 0,
    link_ethernet = 1,
    link_raw_here = 12,  ///< what libpcap calls raw IP on most systems
    link_raw = 101,
    link_loop = 108,
    link_linux_cooked = 113,
    link_ipv4 = 228,
    link_ipv6 = 229,
    link_linux_cooked_2 = 276,
};

/// A UDP datagram or TCP segment.
struct Datagram {
    enum class Kind : std::uint8_t { udp, tcp };
    Kind kind = Kind::udp;
    SocketAddress from, to;
    std::span<const std::uint8_t> payload;  ///< as far as it was captured
    bool cut = false;                       ///< less was captured than was on the wire
    bool fragment = false;                  ///< the first one of several
};

/// What a packet holds, if that is UDP or TCP over IP. Any bytes at all may be given.
std::optional<Datagram> datagram_in(int link_type, std::span<const std::uint8_t> bytes);

}  // namespace sim
