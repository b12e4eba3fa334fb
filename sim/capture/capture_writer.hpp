#pragma once
// Writes a capture as a stream. A packet whose comment is not known yet waits, and with it those after it: what an end
// makes of a telegram comes later than the telegram. The window in which they wait is limited.
#include <cstddef>
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/capture/pcapng.hpp"

namespace sim {

/// Where a capture goes.
class ByteSink {
  public:
    /// False if not all of it could be written: nothing more will be.
    virtual bool write(std::span<const std::uint8_t> bytes) = 0;
    /// Over what was written `at` bytes from the begin.
    virtual bool overwrite(std::uint64_t at, std::span<const std::uint8_t> bytes) = 0;

  protected:
    ~ByteSink() = default;
};

class CaptureWriter {
  public:
    enum class Comment : std::uint8_t { none, to_come };
    /// Packets are written in the order of their numbers, from 1.
    using Number = std::uint64_t;
    /// What stands on a packet whose comment did not come within the window.
    static constexpr std::string_view too_late = "what became of it was not known yet when this was written";

    /// `head`: the section header and the interfaces. The sink must outlive the writer.
    CaptureWriter(ByteSink& sink, pcapng::Buffer head);

    /// Adds a packet. With a comment to come it waits for close().
    Number add(const pcapng::PacketMaker& maker, std::uint64_t at_ns, std::span<const std::uint8_t> payload,
               Comment comment);
    /// Adds a sentence to the comment of a packet; nothing happens if that has been written already. The packet added
    /// last never has.
    void remark(Number packet, std::string_view sentence);
    /// Its comment is complete.
    void close(Number packet);

    /// Writes everything. Then `was` is replaced by `is`, of the same length, wherever it stands in the head.
    bool finish(std::string_view was, std::string_view is);

    [[nodiscard]] bool failed() const { return failed_; }
    [[nodiscard]] std::uint64_t packets() const { return first_ + held_.size() - 1; }

  private:
    struct Held {
        std::size_t end;  ///< of its block in bytes_
        bool open;
    };
    void write_closed();
    void write_first(std::size_t count);
    void write(std::span<const std::uint8_t> bytes);

    ByteSink& sink_;
    pcapng::Buffer head_;
    pcapng::Buffer bytes_;  ///< blocks without comments; only the first used_ bytes count
    std::size_t used_ = 0;
    std::vector<Held> held_;
    Number first_ = 1;  ///< of those held
    std::map<Number, std::string> comments_;
    pcapng::Buffer out_;
    bool failed_ = false;
};

}  // namespace sim
