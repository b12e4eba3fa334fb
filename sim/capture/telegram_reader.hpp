#pragma once
// Reads telegrams as they stand in a capture, one after the other, and follows their numbers: what a receiver at that
// place, set so, makes of the bytes. It knows nothing of times.
#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "proto/parameters.hpp"
#include "proto/telegram.hpp"
#include "proto/verdict.hpp"
#include "sim/capture/capture_settings.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// One telegram, as far as its bytes and those before it say.
struct TelegramSeen {
    enum class Kind : std::uint8_t {
        process,
        parameter,
        strange,  ///< of a length that neither kind has here
    };
    Kind kind = Kind::process;
    proto::Verdict verdict;               ///< fresh, repeat, handshake or rejected
    std::optional<std::uint32_t> number;  ///< carried, or found by trying
    std::vector<std::uint32_t> tries;     ///< numbers tried, where it is implied
    std::optional<proto::ParameterTelegram> parameters;
    /// Its CRC covers something implied that nobody has told: nothing can be concluded.
    bool unknown = false;
};

/// How one hop's telegrams are built and checked: by the sender's settings before the channel, else by the receiver's.
class TelegramView {
  public:
    TelegramView(const CaptureSettings& settings, Hop hop);
    TelegramView(const TelegramView&) = delete;
    TelegramView& operator=(const TelegramView&) = delete;
    TelegramView(TelegramView&&) = default;
    TelegramView& operator=(TelegramView&&) = delete;
    ~TelegramView() = default;

    [[nodiscard]] const CapturedEnd& end() const { return *end_; }  ///< whose settings these are
    [[nodiscard]] const proto::Profile& profile() const { return end_->link.profile; }
    [[nodiscard]] const proto::Codec& codec() const { return codec_; }
    [[nodiscard]] const proto::Layout& layout() const { return codec_.layout(); }
    [[nodiscard]] Hop hop() const { return hop_; }
    [[nodiscard]] Direction direction() const { return direction_of(hop_); }
    [[nodiscard]] std::uint32_t source() const { return source_; }
    [[nodiscard]] std::uint32_t destination() const { return destination_; }
    [[nodiscard]] TypedAddress source_as_typed() const;
    [[nodiscard]] TypedAddress destination_as_typed() const;
    [[nodiscard]] unsigned payload_bytes() const { return payload_bytes_; }

  private:
    const CapturedEnd* end_;
    Hop hop_;
    std::uint32_t source_, destination_;
    unsigned payload_bytes_;
    std::unique_ptr<const proto::CrcEngine> crc_;
    proto::Codec codec_;
};

class TelegramReader {
  public:
    /// Telegrams of one stream follow each other: a hop of a capture of ours, a flow of any other.
    using Stream = std::uint64_t;

    /// The settings must outlive it.
    explicit TelegramReader(const CaptureSettings& settings);

    [[nodiscard]] const TelegramView& view(Hop hop) const { return views_[static_cast<std::size_t>(hop)]; }
    /// Changes nothing yet: what follows is judged by what is said to be concluded.
    [[nodiscard]] TelegramSeen read(Stream key, Hop hop, std::span<const std::uint8_t> bytes);
    /// What an end made of the telegram just read: by its own word, or as read() judges.
    void concluded(Stream key, const TelegramSeen& seen, proto::Verdict::Kind kind);

  private:
    struct Followed {
        bool known = false;            ///< `last` is
        bool any = false;              ///< a process telegram was accepted in this connection
        std::uint32_t last = 0;        ///< number last accepted
        std::uint64_t connection = 0;  ///< the controller's handshake number
    };
    Followed& followed(Stream stream);
    void follow(Followed& stream, const proto::ParameterTelegram& parameters);
    static std::vector<std::uint32_t> numbers_allowed(const Followed& stream, const TelegramView& view);
    static void process(Followed& stream, const TelegramView& view, std::span<const std::uint8_t> bytes,
                        TelegramSeen& seen);

    std::array<TelegramView, hop_count> views_;
    std::map<Stream, Followed> streams_;
    bool polled_;
    std::uint32_t mask_;              ///< of numbers
    std::uint32_t first_number_ = 0;  ///< that the controller confirmed last
};

}  // namespace sim
