#pragma once
// A real endpoint and the model of it side by side: both are given the same telegrams, one as bytes, the other as
// their meaning, and after each scan all that can be seen from outside is compared.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "proto/telegram.hpp"
#include "tests/support/model_endpoint.hpp"
#include "tests/support/profiles.hpp"

namespace tests {

/// What the model needs of an end's settings.
model::Settings model_settings(const proto::LinkSettings& settings);

/// Between bytes and meaning, for one way of a link whose payload is one number of 8 bytes.
class Translator {
  public:
    /// Of what the end with these settings receives (`sender` its peer) or sends.
    Translator(const proto::LinkSettings& settings, proto::End sender);
    [[nodiscard]] model::Meaning meaning_of(std::span<const std::uint8_t> bytes) const;
    /// `foreign` comes out as a telegram of another source, `corrupt` as one with a bit flipped.
    [[nodiscard]] std::vector<std::uint8_t> bytes_of(const model::Meaning& meaning) const;

  private:
    proto::CrcEngine crc_;
    proto::Codec codec_, neighbour_;
    proto::LinkParameters parameters_;  ///< both ends', which agree
    proto::End sender_;
    bool feedback_;
};

/// Hears the real endpoint in the words of the model.
class Listener final : public proto::EventSink {
  public:
    std::vector<model::Conclusion> conclusions;
    std::vector<model::Change> changes;
    std::optional<bool> counted;
    void clear();
    void concluded(proto::Token token, const proto::Verdict& verdict, proto::Instant now) override;
    void changed(const proto::Transition& transition, proto::Instant now) override;
    void acknowledged(bool counted_now, proto::Instant now) override;
    void refused(proto::Refusal refusal, const proto::LinkParameters& theirs, proto::Instant now) override;
};

/// A real endpoint together with what it said in its last scan.
class RealEndpoint {
  public:
    explicit RealEndpoint(const proto::LinkSettings& settings);
    RealEndpoint(const RealEndpoint&) = delete;
    RealEndpoint& operator=(const RealEndpoint&) = delete;
    ~RealEndpoint() = default;

    void start(proto::Instant now, std::uint64_t entropy);
    /// One scan that also sends; what was sent stands in sent_bytes.
    void scan(proto::Instant now, std::uint64_t value);
    [[nodiscard]] std::uint64_t in_use() const;

    Listener heard;
    proto::Endpoint end;
    std::vector<std::vector<std::uint8_t>> sent_bytes;
    std::vector<proto::Transmission::Kind> sent_kinds;

  private:
};

/// Where a real endpoint after a scan differs from the model after the same scan, empty if nowhere. The model sends in
/// here, and takes over what the real endpoint drew at random.
std::string difference(const RealEndpoint& real, model::Endpoint& model, const Translator& sends, std::uint64_t value);

/// For messages.
std::string text_of(const model::Meaning& meaning);

/// The two side by side.
class Shadow {
  public:
    explicit Shadow(const proto::LinkSettings& settings);
    void start(proto::Instant now, std::uint64_t entropy);
    void receive(std::span<const std::uint8_t> bytes);
    /// Empty if both agree.
    std::string scan(proto::Instant now, std::uint64_t value);
    std::string contact(proto::Endpoint::Contact level, proto::Instant now);

    RealEndpoint real;
    model::Endpoint model;
    Translator receives, sends;
    /// What was received in the last scans and what came of it, for messages; empty unless asked for.
    bool keep_story = false;
    std::vector<std::string> story;

  private:
    std::string arrived_;
};

}  // namespace tests
