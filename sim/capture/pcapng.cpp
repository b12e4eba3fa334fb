#include "sim/capture/pcapng.hpp"

#include <algorithm>
#include <cstring>

#include "proto/bytes.hpp"

namespace sim::pcapng {
namespace {

void put(Buffer& out, std::uint64_t value, unsigned bytes) {
    out.resize(out.size() + bytes);
    proto::store_le(out.data() + out.size() - bytes, value, bytes);
}

void fill_up(Buffer& out) { out.resize((out.size() + 3) / 4 * 4); }

/// UTF-8 is not cut within a character.
std::string_view cut(std::string_view text) {
    if (text.size() <= option_bytes_max) return text;
    std::size_t end = option_bytes_max;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
    return text.substr(0, end);
}

void put_option(Buffer& out, std::uint16_t code, std::string_view text) {
    text = cut(text);
    put(out, code, 2);
    put(out, text.size(), 2);
    out.insert(out.end(), text.begin(), text.end());
    fill_up(out);
}

/// The length stands at both ends of a block, so that files can be walked backwards.
class Block {
  public:
    Block(Buffer& out, std::uint32_t type) : out_(out), begin_(out.size()) {
        put(out_, type, 4);
        put(out_, 0, 4);
    }
    ~Block() {
        const std::size_t length = out_.size() + 4 - begin_;
        put(out_, length, 4);
        proto::store_le(out_.data() + begin_ + 4, length, 4);
    }
    Block(const Block&) = delete;
    Block& operator=(const Block&) = delete;

  private:
    Buffer& out_;
    std::size_t begin_;
};

void store32(std::uint8_t* at, std::uint32_t value) { proto::store_le(at, value, 4); }

}  // namespace

void put_section(Buffer& out, std::string_view application, std::span<const std::string> comments) {
    const Block block(out, section_header);
    put(out, byte_order_mark, 4);
    put(out, 1, 2);
    put(out, 0, 2);
    put(out, ~std::uint64_t{0}, 8);  // length of the section: not said
    for (const std::string& comment : comments) put_option(out, option_comment, comment);
    put_option(out, option_application, application);
    put(out, option_end, 4);
}

void put_interface(Buffer& out, const Interface& interface) {
    const Block block(out, interface_description);
    put(out, static_cast<std::uint64_t>(interface.link_type), 2);
    put(out, 0, 2);
    put(out, 0, 4);  // packets of any length
    put_option(out, option_name, interface.name);
    if (!interface.description.empty()) put_option(out, option_description, interface.description);
    put_option(out, option_resolution, "\x09");  // 10^-9 s
    put(out, option_end, 4);
}

PacketMaker::PacketMaker(std::uint32_t interface, const SocketAddress& from, const SocketAddress& to)
    : interface_(interface), header_(from, to) {}

void PacketMaker::write(std::uint64_t at_ns, std::span<const std::uint8_t> payload, std::uint8_t* out) const {
    const std::size_t data = header_.bytes() + payload.size();
    const std::size_t length = packet_block_bytes(data);
    store32(out, enhanced_packet);
    store32(out + 4, static_cast<std::uint32_t>(length));
    store32(out + 8, interface_);
    store32(out + 12, static_cast<std::uint32_t>(at_ns >> 32));
    store32(out + 16, static_cast<std::uint32_t>(at_ns));
    store32(out + 20, static_cast<std::uint32_t>(data));  // captured
    store32(out + 24, static_cast<std::uint32_t>(data));  // on the wire
    store32(out + length - 8, 0);                         // what fills up, before the data goes over it
    header_.write(payload, out + 28);
    if (!payload.empty()) std::memcpy(out + 28 + header_.bytes(), payload.data(), payload.size());
    store32(out + length - 4, static_cast<std::uint32_t>(length));
}

void put_with_comment(Buffer& out, std::span<const std::uint8_t> block, std::string_view comment) {
    const std::size_t begin = out.size();
    out.insert(out.end(), block.begin(), block.end() - 4);
    put_option(out, option_comment, comment);
    put(out, option_end, 4);
    const std::size_t length = out.size() + 4 - begin;
    put(out, length, 4);
    proto::store_le(out.data() + begin + 4, length, 4);
}

}  // namespace sim::pcapng
