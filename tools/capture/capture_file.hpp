#pragma once
// The file of a capture while it is written: its head, which names every hop of every link as an interface, and as many
// telegrams as it may hold.
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "sim/capture/capture_settings.hpp"
#include "sim/capture/capture_writer.hpp"

namespace tools {

/// What a finished capture holds.
struct CaptureSummary {
    std::uint64_t telegrams = 0;  ///< on all hops together
    bool whole = true;            ///< of the run; else it ends at its limit
    sim::Duration ends{};         ///< run time of the last one
};

class CaptureFile {
  public:
    using Number = sim::CaptureWriter::Number;

    /// `links`: what it says of each link, in the order of their interfaces: hop_count for each. All of one run.
    /// `link_type`: of all packets. The sink must outlive it. Requires one link at least.
    CaptureFile(const std::vector<sim::CaptureSettings>& links, int link_type, std::uint64_t most, sim::ByteSink& sink);

    /// The packet's number, or 0 beyond the limit.
    Number add(const sim::pcapng::PacketMaker& maker, std::span<const std::uint8_t> bytes, sim::Instant now,
               sim::CaptureWriter::Comment comment);
    void remark(Number packet, std::string_view sentence) { writer_.remark(packet, sentence); }
    void close(Number packet) { writer_.close(packet); }
    /// Nothing more is taken.
    [[nodiscard]] bool full() const { return !summary_.whole; }

    /// Writes everything, with the digest of the run. False if not everything could be written.
    bool finish(std::uint64_t digest);
    [[nodiscard]] const CaptureSummary& summary() const { return summary_; }

  private:
    const std::int64_t begun_ns_;
    const std::uint64_t digest_before_;
    const std::uint64_t most_;
    sim::CaptureWriter writer_;
    CaptureSummary summary_;
};

}  // namespace tools
