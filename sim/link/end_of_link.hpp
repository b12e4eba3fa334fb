#pragma once
// One end of one link in the world: the endpoint, the application program on top of it, and what they last agreed on.
#include <cstdint>

#include "proto/endpoint.hpp"
#include "sim/channel/passage.hpp"
#include "sim/plant/application.hpp"

namespace sim {

/// What the driver wants to hear of an endpoint, with the end's name added.
class EndListener {
  public:
    virtual void concluded(std::uint8_t link, End end, proto::Token token, const proto::Verdict& verdict,
                           Instant now) = 0;
    virtual void changed(std::uint8_t link, End end, const proto::Transition& transition, Instant now) = 0;
    virtual void acknowledged(std::uint8_t link, End end, bool counted, Instant now) = 0;
    virtual void refused(std::uint8_t link, End end, proto::Refusal refusal, const proto::LinkParameters& theirs,
                         Instant now) = 0;

  protected:
    ~EndListener() = default;
};

class EndOfLink final : public proto::EventSink {
  public:
    /// Requires settings that the reader has found possible.
    EndOfLink(const proto::LinkSettings& settings, std::uint8_t link, EndListener& listener,
              const std::optional<proto::CrcEngine>& tables, proto::ProfileUse use = proto::ProfileUse::link)
        : listener_(listener), link_(link), end_(settings.end), endpoint_(make(settings, *this, tables, use)) {}
    EndOfLink(const EndOfLink&) = delete;
    EndOfLink& operator=(const EndOfLink&) = delete;

    [[nodiscard]] proto::Endpoint& endpoint() { return endpoint_; }
    [[nodiscard]] const proto::Endpoint& endpoint() const { return endpoint_; }
    [[nodiscard]] End end() const { return end_; }
    [[nodiscard]] std::uint8_t link() const { return link_; }

    void concluded(proto::Token token, const proto::Verdict& verdict, Instant now) override {
        listener_.concluded(link_, end_, token, verdict, now);
    }
    void changed(const proto::Transition& transition, Instant now) override {
        listener_.changed(link_, end_, transition, now);
    }
    void acknowledged(bool counted, Instant now) override { listener_.acknowledged(link_, end_, counted, now); }
    void refused(proto::Refusal refusal, const proto::LinkParameters& theirs, Instant now) override {
        listener_.refused(link_, end_, refusal, theirs, now);
    }

  private:
    static proto::Endpoint make(const proto::LinkSettings& settings, proto::EventSink& sink,
                                const std::optional<proto::CrcEngine>& tables, proto::ProfileUse use) {
        auto made = proto::Endpoint::make(settings, sink, use, tables);
        proto::require(made.ok(), "an endpoint of impossible settings: the scenario's reader should have refused them");
        return std::move(made).value();
    }

    EndListener& listener_;
    std::uint8_t link_;
    End end_;
    proto::Endpoint endpoint_;
};

}  // namespace sim
