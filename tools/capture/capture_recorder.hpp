#pragma once
// Listens to what becomes of the telegrams of a link and puts them into a capture: four hops, each an interface, every
// telegram that something happened to with a comment.
#include <array>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/capture/capture_settings.hpp"
#include "sim/judge/telegram_trace.hpp"
#include "sim/scenario/ends.hpp"
#include "tools/capture/capture_file.hpp"
#include "tools/capture/capture_words.hpp"
#include "tools/text/words.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// The sockets that the packets of a capture come from and go to.
struct CaptureSockets {
    sim::SocketAddress controller, device;
    std::optional<sim::SocketAddress> channel = {};  ///< live; else the channel is a network and has none
    // whose telegrams also arrive
    sim::SocketAddress neighbour_controller, neighbour_device, stranger;
};
/// Addresses reserved for documentation (RFC 5737) and ports that belong to nobody (RFC 6335, section 6). `link`: which
/// of several, from 0; each has a device and a neighbour of its own, the controller is one.
CaptureSockets documentation_sockets(std::size_t link = 0);

class CaptureRecorder final : public sim::TelegramTrace {
  public:
    /// Telegrams in a capture unless somebody asks for another number: about 100 MB.
    static constexpr std::uint64_t usual_most = 1'000'000;

    /// Scenario and file must outlive it. `link`: which of the file's, from 0.
    CaptureRecorder(const sim::Scenario& scenario, const CaptureSockets& sockets, CaptureFile& file,
                    std::size_t link = 0);

    void sent(const sim::Sent& sent) override;
    void befell(const sim::Befell& befell) override;
    void delivered(const sim::Delivered& delivered) override;
    void unheard(const sim::Unheard& unheard) override;
    void concluded(const sim::Concluded& concluded) override;
    [[nodiscard]] bool full() const override;

    /// The run is over: what waits is waited for no more.
    void finish();

  private:
    enum class Origin : std::uint8_t { controller, device, neighbour_controller, neighbour_device, stranger };
    static constexpr unsigned origins = 5;
    struct Waiting {
        sim::CaptureWriter::Number packet;  ///< 0: not in the capture
        sim::Tag tag;
        std::string changed;  ///< what differs from the bytes that were sent
    };
    /// A telegram that the channel altered, as it was sent; the oldest is forgotten first.
    struct Altered {
        sim::Tag tag;
        std::vector<std::uint8_t> bytes;
    };
    static Origin origin_of(const sim::Tag& tag);
    sim::CaptureWriter::Number add(sim::Hop hop, Origin origin, std::span<const std::uint8_t> bytes, sim::Instant now,
                                   sim::CaptureWriter::Comment comment);
    /// What the channel changed, if it is still known.
    [[nodiscard]] std::string change_of(const sim::Tag& tag, std::span<const std::uint8_t> bytes) const;
    void settle(sim::End at, const Waiting& waiting, const Conclusion& conclusion);
    [[nodiscard]] std::deque<Waiting>& waiting(sim::End end) { return waiting_[static_cast<std::size_t>(end)]; }

    const sim::Scenario& scenario_;
    const EndNames names_;
    std::vector<sim::pcapng::PacketMaker> makers_;  ///< by hop and origin
    CaptureFile& file_;
    std::array<std::deque<Waiting>, 2> waiting_;  ///< by End: delivered, nothing concluded yet
    std::array<std::uint64_t, 2> accepted_{};     ///< by End: instance that was accepted last
    sim::CaptureWriter::Number sent_last_ = 0;
    std::vector<std::uint8_t> sent_bytes_;
    std::deque<Altered> altered_;
};

}  // namespace tools
