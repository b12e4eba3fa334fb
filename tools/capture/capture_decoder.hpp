#pragma once
// Reads a capture as telegrams of a link: ours by what it says about itself, link by link where it has several, any
// other by a profile.
#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/capture/capture_writer.hpp"
#include "sim/capture/datagram.hpp"
#include "sim/capture/telegram_reader.hpp"
#include "sim/reading/packets.hpp"
#include "sim/scenario/ends.hpp"
#include "tools/capture/capture_words.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// One telegram of a capture.
struct ListedTelegram {
    enum class Verdict : std::uint8_t {
        sent,       ///< seen on its way to the channel
        dropped,    ///< the same, and it arrives nowhere
        accepted,   ///< as new
        dangerous,  ///< accepted although it was not the expected one
        repeat,
        ignored,
        handshake,
        rejected,   ///< by `failed`
        unheard,    ///< nobody looked at it
        unchecked,  ///< nothing can be said
    };
    std::uint64_t packet = 0;  ///< number in the capture, from 1
    sim::Duration time{};      ///< since the run's begin; in another's capture since its first packet
    sim::Hop hop = sim::Hop::channel_to_device;
    std::size_t link = 0;   ///< of the capture's
    bool hop_known = true;  ///< else only the direction is: whose hop it was does not show in another's capture
    sim::TelegramSeen seen;
    Verdict verdict = Verdict::accepted;
    proto::MeasureSet failed;
    std::vector<std::uint8_t> bytes;
    std::string comment;
};

/// A profile that is to be read by, and the file that it is from, for messages.
struct GivenProfile {
    std::string file;
    proto::Profile profile;
};

class CaptureDecoder {
  public:
    /// `profile`: a file, needed where a capture does not say how its telegrams are built.
    static proto::Result<CaptureDecoder, Failure> open(const sim::CaptureSource& source,
                                                       const std::optional<std::string>& profile);
    /// The same by a profile that was read before; nullptr: none is given.
    static proto::Result<CaptureDecoder, Failure> open_by(const sim::CaptureSource& source,
                                                          const GivenProfile* profile);

    /// The next telegram; nothing at the end, or where damage() begins.
    std::optional<ListedTelegram> next();
    /// Begins again. Fails only if the file has changed.
    [[nodiscard]] bool rewind();

    [[nodiscard]] bool ours() const { return ours_; }
    /// How many links it has: one, if it is not of a whole cell.
    [[nodiscard]] std::size_t links() const { return links_.size(); }
    /// Of the whole capture what every link says; of a cell each has a name.
    [[nodiscard]] const sim::CaptureSettings& settings(std::size_t link = 0) const { return links_[link]->settings; }
    [[nodiscard]] const sim::TelegramView& view(sim::Hop hop, std::size_t link = 0) const {
        return links_[link]->reader->view(hop);
    }
    /// What is to be known about how they were read: sentences.
    [[nodiscard]] const std::vector<std::string>& remarks() const { return remarks_; }
    [[nodiscard]] std::uint64_t packets() const { return packets_; }  ///< read so far, of every kind
    [[nodiscard]] std::uint64_t others() const { return others_; }    ///< of them no telegrams of these links
    [[nodiscard]] const std::optional<sim::FileError>& damage() const { return packets_reader_->damage(); }

  private:
    /// Views of the reader point at the settings, so neither is moved.
    struct Link {
        sim::CaptureSettings settings;
        std::unique_ptr<sim::TelegramReader> reader = {};
    };
    CaptureDecoder(sim::CaptureSource source, sim::PacketReader reader);
    void make_readers();
    std::optional<sim::FileError> read_settings();
    std::optional<Failure> use_profile(const GivenProfile& given);
    std::optional<Failure> learn();
    void take(const proto::ParameterTelegram& telegram);
    bool take_addresses(std::span<const std::uint8_t> bytes);
    void say_what_was_learned(bool handshake, bool addresses);
    std::optional<ListedTelegram> own(const sim::Packet& packet, const sim::Datagram& datagram);
    std::optional<ListedTelegram> foreign(const sim::Packet& packet, const sim::Datagram& datagram);
    sim::Direction direction_of(const sim::Datagram& datagram);
    [[nodiscard]] bool fits(std::span<const std::uint8_t> bytes, sim::Direction direction) const;
    void judge_own(ListedTelegram& telegram);

    sim::CaptureSource source_;
    std::optional<sim::PacketReader> packets_reader_;
    std::vector<std::unique_ptr<Link>> links_;
    bool ours_ = false;
    bool addresses_known_ = true;
    std::vector<std::string> remarks_;
    std::optional<std::int64_t> first_ns_;
    std::uint64_t packets_ = 0, others_ = 0;
    std::map<std::pair<sim::SocketAddress, sim::SocketAddress>, std::uint64_t> flows_;
    std::map<sim::SocketAddress, sim::Direction> senders_;  ///< of another's capture: where its telegrams go
};

}  // namespace tools
