// The only place that includes libpcap.
#include <array>
#include <filesystem>

#include <pcap/pcap.h>

#include "sim/reading/packets.hpp"

namespace sim {
namespace {

FileError wrong(const std::string& path, std::string message, FileError::Kind kind = FileError::Kind::input) {
    return FileError{.file = path, .line = 0, .key = "", .message = std::move(message), .kind = kind};
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

PacketReader::PacketReader(std::string path, std::unique_ptr<Library> library)
    : path_(std::move(path)), library_(std::move(library)), notes_(PcapngNotes::open(path_)) {}
PacketReader::PacketReader(PacketReader&&) noexcept = default;
PacketReader& PacketReader::operator=(PacketReader&&) noexcept = default;
PacketReader::~PacketReader() = default;

proto::Result<PacketReader, FileError> PacketReader::open(const std::string& path) {
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
    auto library = std::make_unique<Library>();
    std::array<char, PCAP_ERRBUF_SIZE> text{};
    library->capture = pcap_open_offline_with_tstamp_precision(path.c_str(), PCAP_TSTAMP_PRECISION_NANO, text.data());
    if (library->capture == nullptr)
        return wrong(path,
                     "is no capture that can be read (" + std::string(text.data()) + "); write a pcap or pcapng file");
    return PacketReader(path, std::move(library));
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
