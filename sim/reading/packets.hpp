#pragma once
// The packets of a capture, pcap or pcapng, one after the other: by libpcap, with comments and interfaces besides.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "proto/result.hpp"
#include "sim/capture/pcapng_notes.hpp"
#include "sim/reading/read.hpp"

namespace sim {

/// Where a capture's bytes are: in the file of that name, or held by whoever reads it, for as long as it is read; then
/// the name is for messages.
struct CaptureSource {
    using Held = std::optional<std::span<const std::uint8_t>>;
    CaptureSource(std::string file, Held bytes = {}) : path(std::move(file)), held(bytes) {}  // NOLINT: a file is one
    std::string path;
    Held held;
};

struct Packet {
    std::uint64_t number = 0;             ///< in the file, from 1
    std::int64_t at_ns = 0;               ///< since 1970
    int link_type = 0;                    ///< see LinkType
    std::span<const std::uint8_t> bytes;  ///< as captured; valid until the next one is read
    std::uint32_t on_wire = 0;            ///< bytes that it had
    std::uint32_t interface = 0;
    std::string comment;
};

class PacketReader {
  public:
    /// Says what is wrong with the file if it is no capture.
    static proto::Result<PacketReader, FileError> open(const CaptureSource& source);
    PacketReader(const PacketReader&) = delete;
    PacketReader& operator=(const PacketReader&) = delete;
    PacketReader(PacketReader&&) noexcept;
    PacketReader& operator=(PacketReader&&) noexcept;
    ~PacketReader();

    /// The next packet, or nothing: then the file is at its end, or damage() says what is wrong from here on.
    std::optional<Packet> next();
    [[nodiscard]] const std::optional<FileError>& damage() const { return damage_; }
    /// What a pcapng file says beside its packets; nullptr for other files.
    [[nodiscard]] const PcapngNotes* notes() const { return notes_ ? &*notes_ : nullptr; }

  private:
    struct Library;
    PacketReader(const CaptureSource& source, std::unique_ptr<Library> library);
    std::string path_;
    std::unique_ptr<Library> library_;
    std::optional<PcapngNotes> notes_;
    std::optional<FileError> damage_;
    std::uint64_t read_ = 0;
};

}  // namespace sim
