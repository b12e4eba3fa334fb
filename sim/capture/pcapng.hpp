#pragma once
// Blocks of the pcapng file format (IETF draft-ietf-opsawg-pcapng), as they are written here: one section, low byte
// first, nanosecond stamps.
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/capture/datagram.hpp"

namespace sim::pcapng {

inline constexpr std::uint32_t section_header = 0x0A0D0D0A, interface_description = 1, old_packet = 2,
                               simple_packet = 3, enhanced_packet = 6;
inline constexpr std::uint32_t byte_order_mark = 0x1A2B3C4D;
inline constexpr std::uint16_t option_end = 0, option_comment = 1, option_application = 4, option_name = 2,
                               option_description = 3, option_resolution = 9;

/// Longest text of an option.
inline constexpr std::size_t option_bytes_max = 65'535;

using Buffer = std::vector<std::uint8_t>;

/// Appends a section header; every comment becomes an option of its own, cut to its longest.
void put_section(Buffer& out, std::string_view application, std::span<const std::string> comments);

struct Interface {
    int link_type = link_ipv4;
    std::string name, description;
};
void put_interface(Buffer& out, const Interface& interface);

/// Bytes of a packet block with so many bytes of data and no options.
constexpr std::size_t packet_block_bytes(std::size_t data) { return 28 + (data + 3) / 4 * 4 + 4; }

/// Datagrams from one socket to another on one interface.
class PacketMaker {
  public:
    PacketMaker(std::uint32_t interface, const SocketAddress& from, const SocketAddress& to);
    [[nodiscard]] std::size_t block_bytes(std::size_t payload) const {
        return packet_block_bytes(header_.bytes() + payload);
    }
    /// Writes block_bytes(payload.size()) bytes: an enhanced packet block without options. `at_ns`: since 1970.
    void write(std::uint64_t at_ns, std::span<const std::uint8_t> payload, std::uint8_t* out) const;

  private:
    std::uint32_t interface_;
    DatagramHeader header_;
};

/// Appends a packet block with a comment: `block` as PacketMaker wrote it, `comment` cut to its longest.
void put_with_comment(Buffer& out, std::span<const std::uint8_t> block, std::string_view comment);

}  // namespace sim::pcapng
