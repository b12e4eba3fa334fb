#include "tests/support/shadow.hpp"

#include <algorithm>
#include <array>

#include "proto/bytes.hpp"
#include "proto/contract.hpp"
#include "tests/support/two_ends.hpp"

namespace tests {
namespace {

using model::Meaning;
using proto::End;
using proto::Endpoint;
using tests::text_of;

constexpr std::uint32_t neighbour_bit = 0x40;

proto::CrcEngine engine_of(const proto::LinkSettings& settings) {
    proto::require(settings.profile.crc.has_value(), "a translator needs a CRC");
    auto engine = proto::CrcEngine::make(*settings.profile.crc);
    proto::require(engine.ok(), "a translator got a CRC that is none");
    return engine.value();
}

Endpoint made(const proto::LinkSettings& settings, proto::EventSink& sink) {
    auto endpoint = Endpoint::make(settings, sink);
    proto::require(endpoint.ok(), "settings that no endpoint takes");
    return std::move(endpoint).value();
}

std::string text_of(const model::Conclusion& c) {
    static constexpr std::array names{"fresh", "repeat", "ignored", "handshake", "rejected"};
    std::string text = names[static_cast<std::size_t>(c.kind)];
    if (c.detected_by) text += ":" + std::string(proto::name_of(*c.detected_by));
    return text;
}

std::string text_of(const model::Change& c) {
    return std::string(proto::name_of(c.from)) + ">" + std::string(proto::name_of(c.to)) + "(" +
           std::string(proto::name_of(c.cause)) + ")";
}

template <class T>
std::string list_of(const std::vector<T>& items) {
    std::string text = "[";
    for (const T& item : items) text += (text.size() > 1 ? " " : "") + text_of(item);
    return text + "]";
}

}  // namespace

std::string text_of(const Meaning& m) {
    static constexpr std::array kinds{"process", "parameter", "corrupt", "foreign", "foreign-parameter"};
    static constexpr std::array steps{"", "offer", "answer", "confirm", "ready"};
    std::string text = kinds[static_cast<std::size_t>(m.kind)];
    if (m.kind == Meaning::Kind::process) {
        text += " " + std::to_string(m.number);
        if (m.safe) text += " safe";
        if (m.request) text += " request";
        if (m.acknowledge) text += " acknowledge";
        if (m.restart) text += " restart";
        if (m.feedback) text += " feedback " + std::to_string(*m.feedback);
        text += " value " + std::to_string(m.value);
    }
    if (m.kind == Meaning::Kind::parameter)
        text += std::string(" ") + steps[static_cast<std::size_t>(m.step)] + " c" +
                std::to_string(m.controller_number % 1000) + " d" + std::to_string(m.device_number % 1000) + " start " +
                std::to_string(m.start_number);
    return text;
}

model::Settings model_settings(const proto::LinkSettings& s) {
    model::Settings m;
    m.end = s.end;
    m.exchange = s.exchange;
    m.numbers = 1U << s.profile.sequence.bits;
    m.watchdog = s.watchdog;
    m.reaction = s.reaction;
    m.error_interval = s.error_interval;
    m.missing_allowed = s.missing_allowed;
    m.feedback = s.profile.feedback;
    m.max_lag = s.max_lag;
    return m;
}

Translator::Translator(const proto::LinkSettings& s, End sender)
    : crc_(engine_of(s)),
      codec_(s.profile, &crc_, sender, sender == s.end ? s.own_address : s.peer_address,
             sender == s.end ? s.peer_address : s.own_address, 8),
      neighbour_(s.profile, &crc_, sender, (sender == s.end ? s.own_address : s.peer_address) ^ neighbour_bit,
                 sender == s.end ? s.peer_address : s.own_address, 8),
      parameters_(parameters_of(s)),
      sender_(sender),
      feedback_(s.profile.feedback) {}

Meaning Translator::meaning_of(std::span<const std::uint8_t> bytes) const {
    using Step = proto::ParameterTelegram::Step;
    Meaning m;
    if (const auto p = proto::decode_parameters(bytes)) {
        const bool of_device = p->step == Step::answer || p->step == Step::ready;
        m.kind = of_device == (sender_ == End::device) && p->parameters == parameters_
                     ? Meaning::Kind::parameter
                     : Meaning::Kind::foreign_parameter;
        m.step = p->step;
        m.controller_number = p->controller_number;
        m.device_number = p->device_number;
        m.start_number = p->start_number;
        return m;
    }
    const proto::Codec::Decoded decoded = codec_.decode(bytes, {});
    if (decoded.failed.has(proto::Measure::integrity) || decoded.failed.has(proto::Measure::cross_check)) {
        m.kind = Meaning::Kind::corrupt;
        return m;
    }
    if (decoded.failed.has(proto::Measure::authentication)) m.kind = Meaning::Kind::foreign;
    const proto::Header& h = decoded.header;
    m.safe = (h.status & proto::status_safe) != 0;
    m.request = (h.status & proto::status_request) != 0;
    m.acknowledge = (h.status & proto::status_acknowledge) != 0;
    m.restart = (h.status & proto::status_restart) != 0;
    m.number = h.number;
    if (feedback_) m.feedback = h.feedback;
    m.value = proto::load_be64(decoded.payload);
    return m;
}

std::vector<std::uint8_t> Translator::bytes_of(const Meaning& m) const {
    if (m.kind == Meaning::Kind::parameter || m.kind == Meaning::Kind::foreign_parameter) {
        proto::ParameterTelegram p;
        p.step = m.step;
        p.controller_number = m.controller_number;
        p.device_number = m.device_number;
        p.start_number = m.start_number;
        p.parameters = parameters_;
        std::vector<std::uint8_t> bytes(proto::parameter_telegram_bytes);
        proto::encode(p, std::span<std::uint8_t, proto::parameter_telegram_bytes>(bytes));
        return bytes;
    }
    proto::Header h;
    const auto bit = [&h](bool on, unsigned mask) {
        if (on) h.status = static_cast<std::uint8_t>(h.status | mask);
    };
    bit(m.safe, proto::status_safe);
    bit(m.request, proto::status_request);
    bit(m.acknowledge, proto::status_acknowledge);
    bit(m.restart, proto::status_restart);
    h.number = m.number;
    h.feedback = m.feedback.value_or(0);
    std::array<std::uint8_t, 8> payload{};
    proto::store_be64(payload.data(), m.value);
    std::array<std::uint8_t, proto::telegram_bytes_max> out{};
    const proto::Codec& codec = m.kind == Meaning::Kind::foreign ? neighbour_ : codec_;
    codec.encode(h, payload, out);
    std::vector<std::uint8_t> bytes(out.begin(), out.begin() + codec.layout().total_bytes);
    if (m.kind == Meaning::Kind::corrupt) bytes.back() = static_cast<std::uint8_t>(bytes.back() ^ 0x10U);
    return bytes;
}

void Listener::clear() {
    conclusions.clear();
    changes.clear();
    counted.reset();
}
void Listener::concluded(proto::Token /*token*/, const proto::Verdict& verdict, proto::Instant /*now*/) {
    model::Conclusion c{verdict.kind, std::nullopt};
    if (verdict.kind == proto::Verdict::Kind::rejected) c.detected_by = verdict.failed.first();
    conclusions.push_back(c);
}
void Listener::changed(const proto::Transition& t, proto::Instant /*now*/) {
    changes.push_back({t.from, t.to, t.cause});
}
void Listener::acknowledged(bool counted_now, proto::Instant /*now*/) { counted = counted_now; }
void Listener::refused(proto::Refusal /*refusal*/, const proto::LinkParameters& /*theirs*/, proto::Instant /*now*/) {}

RealEndpoint::RealEndpoint(const proto::LinkSettings& settings) : end(made(settings, heard)) {}

void RealEndpoint::start(proto::Instant now, std::uint64_t entropy) {
    heard.clear();
    end.start(now, {}, entropy);

    heard.clear();
}

void RealEndpoint::scan(proto::Instant now, std::uint64_t value) {
    heard.clear();
    end.on_deadline(now);
    proto::store_be64(end.output().data(), value);
    sent_kinds.clear();
    std::size_t count = 0;
    poll(end, now, [&](const proto::Transmission& what, std::span<const std::uint8_t> bytes) {
        if (sent_bytes.size() <= count) sent_bytes.emplace_back();
        sent_bytes[count++].assign(bytes.begin(), bytes.end());
        sent_kinds.push_back(what.kind);
    });
}

std::uint64_t RealEndpoint::in_use() const { return proto::load_be64(end.input().data()); }

std::string difference(const RealEndpoint& real, model::Endpoint& model, const Translator& sends, std::uint64_t value) {
    std::string text;
    if (real.heard.conclusions != model.conclusions)
        text += " verdicts real " + list_of(real.heard.conclusions) + " model " + list_of(model.conclusions);
    if (real.heard.changes != model.changes)
        text += " changes real " + list_of(real.heard.changes) + " model " + list_of(model.changes);

    std::vector<Meaning> sent;
    for (std::size_t i = 0; i < real.sent_kinds.size(); ++i) sent.push_back(sends.meaning_of(real.sent_bytes[i]));
    if (model.draws()) {
        // A draw is seen in the first parameter telegram that carries it.
        for (const Meaning& m : sent)
            if (m.kind == Meaning::Kind::parameter)
                model.drew({real.end.settings().end == End::controller ? m.controller_number : m.device_number,
                            m.start_number});
    }
    const std::vector<Meaning> expected = model.send(value);
    if (sent != expected) text += " sent real " + list_of(sent) + " model " + list_of(expected);
    if (real.end.state() != model.state())
        text += " state real " + std::string(proto::name_of(real.end.state())) + " model " +
                std::string(proto::name_of(model.state()));
    if (real.in_use() != model.in_use())
        text += " in use real " + std::to_string(real.in_use()) + " model " + std::to_string(model.in_use());
    if (real.end.acknowledgement_requested() != model.acknowledgement_requested())
        text += " request real " + std::to_string(real.end.acknowledgement_requested());
    if (real.end.last_sign_of_life() != model.last_sign_of_life()) text += " signs of life differ";
    if (real.end.connections() != model.connections())
        text += " connections real " + std::to_string(real.end.connections()) + " model " +
                std::to_string(model.connections());
    return text;
}

Shadow::Shadow(const proto::LinkSettings& settings)
    : real(settings),
      model(model_settings(settings)),
      receives(settings, proto::other(settings.end)),
      sends(settings, settings.end) {}

void Shadow::start(proto::Instant now, std::uint64_t entropy) {
    real.start(now, entropy);
    model.start();
    if (keep_story) story.emplace_back("start");
}

void Shadow::receive(std::span<const std::uint8_t> bytes) {
    real.end.receive(bytes, {});
    model.receive(receives.meaning_of(bytes));
    if (keep_story) arrived_ += "; " + text_of(receives.meaning_of(bytes));
}

std::string Shadow::scan(proto::Instant now, std::uint64_t value) {
    real.scan(now, value);
    model.scan(now);
    std::string text = difference(real, model, sends, value);
    if (keep_story) {
        std::vector<Meaning> sent;
        for (std::size_t i = 0; i < real.sent_kinds.size(); ++i) sent.push_back(sends.meaning_of(real.sent_bytes[i]));
        story.push_back(std::to_string(now.ns / 1000) + " us" + arrived_ + " -> " + list_of(real.heard.conclusions) +
                        " " + list_of(real.heard.changes) + " " + std::string(proto::name_of(real.end.state())) +
                        " sends " + list_of(sent));
        arrived_.clear();
    }
    return text;
}

std::string Shadow::contact(proto::Endpoint::Contact level, proto::Instant now) {
    real.heard.clear();
    real.end.set_acknowledge(level, now);
    const std::optional<bool> expected = model.contact(level == Endpoint::Contact::closed);
    if (keep_story) arrived_ += level == Endpoint::Contact::closed ? "; press" : "; release";
    return real.heard.counted == expected ? "" : " acknowledgement counted differently";
}

}  // namespace tests
