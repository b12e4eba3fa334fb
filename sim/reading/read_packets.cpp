// The only place that includes libpcap.
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <pcap/pcap.h>

#include "sim/reading/packets.hpp"

namespace sim {
namespace {

FileError wrong(const std::string& path, std::string message, FileError::Kind kind = FileError::Kind::input) {
    return FileError{.file = path, .line = 0, .key = "", .message = std::move(message), .kind = kind};
}

/// Why there can be no capture at that path.
std::optional<FileError> no_file(const std::string& path) {
    std::error_code error;
    const auto type = std::filesystem::status(path, error).type();
    if (type == std::filesystem::file_type::not_found)
        return wrong(path, "no such file; write the path of a pcap or pcapng capture");
    if (type == std::filesystem::file_type::none || type == std::filesystem::file_type::unknown)
        return wrong(path, "cannot be read: " + error.message() + "; check the rights of the file and its folders",
                     FileError::Kind::machine);
    if (type != std::filesystem::file_type::regular)
        return wrong(path, "is no file; write the path of a pcap or pcapng capture");
    if (!std::ifstream(path))
        return wrong(path, "cannot be opened; check the rights of the file", FileError::Kind::machine);
    return std::nullopt;
}

/// The library's handle; nullptr with its words in `text`.
pcap_t* opened(const CaptureSource& source, std::array<char, PCAP_ERRBUF_SIZE>& text) {
    if (!source.held)
        return pcap_open_offline_with_tstamp_precision(source.path.c_str(), PCAP_TSTAMP_PRECISION_NANO, text.data());
    // fmemopen() may not write to what it is opened for reading; of nothing it makes no file
    std::FILE* const file = source.held->empty() ? std::fopen("/dev/null", "rb")
                                                 : ::fmemopen(const_cast<std::uint8_t*>(source.held->data()),
                                                              source.held->size(), "rb");  // NOLINT
    if (file == nullptr) return nullptr;
    pcap_t* const capture = pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, text.data());
    if (capture == nullptr) std::fclose(file);
    return capture;
}

std::optional<PcapngNotes> notes_of(const CaptureSource& source) {
    if (!source.held) return PcapngNotes::open(source.path);
    const auto* const first = reinterpret_cast<const char*>(source.held->data());
    return PcapngNotes::of(std::make_unique<std::istringstream>(std::string(first, source.held->size())));
}

}  // namespace

struct PacketReader::Library {
    pcap_t* capture = nullptr;

    Library() = default;
    Library(const Library&) = delete;
    Library& operator=(const Library&) = delete;
    ~Library() {
        if (capture != nullptr) pcap_close(capture);
    }
};

PacketReader::PacketReader(const CaptureSource& source, std::unique_ptr<Library> library)
    : path_(source.path), library_(std::move(library)), notes_(notes_of(source)) {}
PacketReader::PacketReader(PacketReader&&) noexcept = default;
PacketReader& PacketReader::operator=(PacketReader&&) noexcept = default;
PacketReader::~PacketReader() = default;

proto::Result<PacketReader, FileError> PacketReader::open(const CaptureSource& source) {
    if (!source.held)
        if (auto error = no_file(source.path)) return *error;
    auto library = std::make_unique<Library>();
    std::array<char, PCAP_ERRBUF_SIZE> text{};
    library->capture = opened(source, text);
    if (library->capture == nullptr)
        return wrong(source.path,
                     "is no capture that can be read (" + std::string(text.data()) + "); write a pcap or pcapng file");
    return PacketReader(source, std::move(library));
}

std::optional<Packet> PacketReader::next() {
    if (damage_) return std::nullopt;
    pcap_pkthdr* header = nullptr;
    const std::uint8_t* data = nullptr;
    const int got = pcap_next_ex(library_->capture, &header, &data);
    if (got == PCAP_ERROR_BREAK) return std::nullopt;
    if (got != 1) {
        damage_ = wrong(path_, "is cut short or damaged after packet " + std::to_string(read_) + " (" +
                                   std::string(pcap_geterr(library_->capture)) +
                                   "); capture again, or save the whole packets anew");
        return std::nullopt;
    }
    Packet packet;
    packet.number = ++read_;
    constexpr std::int64_t second = 1'000'000'000, seconds_most = 9'000'000'000;
    if (header->ts.tv_sec < 0 || header->ts.tv_sec > seconds_most || header->ts.tv_usec < 0 ||
        header->ts.tv_usec >= second) {
        damage_ = wrong(path_, "packet " + std::to_string(read_) + " has no time that can be; capture again");
        return std::nullopt;
    }
    packet.at_ns = header->ts.tv_sec * second + header->ts.tv_usec;  // nanoseconds, as asked for
    packet.link_type = pcap_datalink(library_->capture);
    packet.bytes = {data, header->caplen};
    packet.on_wire = header->len;
    if (notes_)
        if (auto note = notes_->next()) {
            packet.interface = note->interface;
            packet.comment = std::move(note->comment);
        }
    return packet;
}

}  // namespace sim
