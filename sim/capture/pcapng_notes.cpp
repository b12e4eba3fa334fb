#include "sim/capture/pcapng_notes.hpp"

#include <array>
#include <fstream>
#include <utility>

#include "proto/bytes.hpp"
#include "sim/capture/pcapng.hpp"

namespace sim {
namespace {

/// What nobody writes in earnest: a block or a number of interfaces beyond it ends the walk.
constexpr std::uint32_t block_bytes_max = 64 * 1024 * 1024;
constexpr std::uint32_t interfaces_max = 65'536;
constexpr std::size_t texts_max = 100, text_bytes_max = 200'000;

bool is_packet(std::uint32_t type) {
    return type == pcapng::enhanced_packet || type == pcapng::simple_packet || type == pcapng::old_packet;
}

constexpr std::uint32_t padded(std::uint32_t bytes) { return (bytes + 3) / 4 * 4; }

}  // namespace

PcapngNotes::PcapngNotes(std::unique_ptr<std::istream> in) : in_(std::move(in)) {}

std::optional<PcapngNotes> PcapngNotes::open(const std::string& path) {
    return of(std::make_unique<std::ifstream>(path, std::ios::binary));
}

std::optional<PcapngNotes> PcapngNotes::of(std::unique_ptr<std::istream> in) {
    PcapngNotes notes(std::move(in));
    std::array<std::uint8_t, 4> mark{};
    if (!*notes.in_ || !notes.read(mark.data(), 4) ||
        proto::load_be(mark.data(), 4) != pcapng::section_header)  // the same in either byte order
        return std::nullopt;
    notes.in_->seekg(0);
    while (notes.begin_block()) {
        if (is_packet(notes.block_.type)) {
            notes.waiting_ = notes.block_;
            break;
        }
        if (!notes.end_block()) break;
    }
    return notes;
}

bool PcapngNotes::read(std::uint8_t* to, std::uint32_t bytes) {
    in_->read(reinterpret_cast<char*>(to), static_cast<std::streamsize>(bytes));
    return in_->gcount() == static_cast<std::streamsize>(bytes);
}

bool PcapngNotes::skip(std::uint32_t bytes) {
    if (bytes == 0) return true;
    in_->ignore(static_cast<std::streamsize>(bytes));
    return in_->gcount() == static_cast<std::streamsize>(bytes);
}

std::uint64_t PcapngNotes::number(const std::uint8_t* at, unsigned bytes) const {
    return low_first_ ? proto::load_le(at, bytes) : proto::load_be(at, bytes);
}

/// Reads a block's head, and of sections and interfaces all that counts.
bool PcapngNotes::begin_block() {
    std::array<std::uint8_t, 8> head{};
    if (!read(head.data(), 8)) return false;
    block_.type = static_cast<std::uint32_t>(number(head.data(), 4));
    if (proto::load_be(head.data(), 4) == pcapng::section_header) {
        block_.type = pcapng::section_header;
        std::array<std::uint8_t, 4> mark{};
        if (!read(mark.data(), 4)) return false;
        low_first_ = proto::load_le(mark.data(), 4) == pcapng::byte_order_mark;
        if (!low_first_ && proto::load_be(mark.data(), 4) != pcapng::byte_order_mark) return false;
    }
    const auto length = static_cast<std::uint32_t>(number(head.data() + 4, 4));
    const std::uint32_t read_already = block_.type == pcapng::section_header ? 12 : 8;
    if (length % 4 != 0 || length < read_already + 4 || length > block_bytes_max) return false;
    block_.left = length - read_already - 4;
    if (block_.type == pcapng::section_header) return read_section();
    if (block_.type == pcapng::interface_description) return read_interface();
    return true;
}

/// Past the rest of the block and its second length.
bool PcapngNotes::end_block() {
    const bool skipped = skip(block_.left + 4);
    block_.left = 0;
    return skipped;
}

/// Hands each option of the rest of the block to `take`; text beyond reason is left out.
template <class Take>
bool PcapngNotes::read_options(Take take) {
    while (block_.left >= 4) {
        std::array<std::uint8_t, 4> head{};
        if (!read(head.data(), 4)) return false;
        block_.left -= 4;
        const auto code = static_cast<std::uint16_t>(number(head.data(), 2));
        const auto length = static_cast<std::uint32_t>(number(head.data() + 2, 2));
        if (code == pcapng::option_end) return true;
        if (padded(length) > block_.left) return false;
        std::string text(length, '\0');
        if (!read(reinterpret_cast<std::uint8_t*>(text.data()), length)) return false;
        if (!skip(padded(length) - length)) return false;
        block_.left -= padded(length);
        take(code, std::move(text));
    }
    return true;
}

bool PcapngNotes::read_section() {
    std::array<std::uint8_t, 12> rest{};  // version, length of the section
    if (block_.left < rest.size() || !read(rest.data(), rest.size())) return false;
    block_.left -= static_cast<std::uint32_t>(rest.size());
    interfaces_ = 0;
    interface_names_.clear();
    const bool first = std::exchange(first_section_, false);
    return read_options([&](std::uint16_t code, std::string text) {
        if (!first) return;
        if (code == pcapng::option_application)
            application_ = std::move(text);
        else if (code == pcapng::option_comment && section_comments_.size() < texts_max)
            section_comments_.push_back(std::move(text));
    });
}

bool PcapngNotes::read_interface() {
    std::array<std::uint8_t, 8> rest{};
    if (block_.left < rest.size() || !read(rest.data(), rest.size())) return false;
    block_.left -= static_cast<std::uint32_t>(rest.size());
    if (++interfaces_ > interfaces_max) return false;
    std::string name;
    const bool read = read_options([&](std::uint16_t code, std::string text) {
        if (code == pcapng::option_name) name = std::move(text);
    });
    if (interface_names_.size() < texts_max) interface_names_.push_back(std::move(name));
    return read;
}

std::optional<PcapngNotes::Note> PcapngNotes::read_packet() {
    Note note;
    if (block_.type == pcapng::simple_packet) return end_block() ? std::optional(note) : std::nullopt;
    std::array<std::uint8_t, 20> head{};
    if (block_.left < head.size() || !read(head.data(), head.size())) return std::nullopt;
    block_.left -= static_cast<std::uint32_t>(head.size());
    // in the old packet block the interface has 16 bits, and a count of drops follows
    note.interface = static_cast<std::uint32_t>(number(head.data(), block_.type == pcapng::old_packet ? 2 : 4));
    const auto captured = static_cast<std::uint32_t>(number(head.data() + 12, 4));
    if (captured > block_.left || padded(captured) > block_.left || !skip(padded(captured))) return std::nullopt;
    block_.left -= padded(captured);
    const bool read = read_options([&](std::uint16_t code, const std::string& text) {
        if (code != pcapng::option_comment || note.comment.size() + text.size() > text_bytes_max) return;
        if (!note.comment.empty()) note.comment += '\n';
        note.comment += text;
    });
    return read && end_block() ? std::optional(note) : std::nullopt;
}

std::optional<PcapngNotes::Note> PcapngNotes::next() {
    if (waiting_) {
        waiting_.reset();
        return read_packet();
    }
    while (begin_block()) {
        if (is_packet(block_.type)) return read_packet();
        if (!end_block()) break;
    }
    return std::nullopt;
}

}  // namespace sim
