#include "sim/capture/telegram_reader.hpp"

#include "proto/contract.hpp"
#include "proto/sequence_check.hpp"

namespace sim {
namespace {

using proto::Order;
using proto::Verdict;

constexpr std::size_t streams_most = 4096;  ///< then they are forgotten: a capture of many flows

End whose(Hop hop) {
    switch (hop) {
        case Hop::controller_to_channel:
        case Hop::channel_to_controller: return End::controller;
        case Hop::channel_to_device:
        case Hop::device_to_channel: return End::device;
    }
    return End::controller;
}

std::unique_ptr<const proto::CrcEngine> engine_of(const proto::Profile& profile) {
    if (!profile.crc) return nullptr;
    return std::make_unique<const proto::CrcEngine>(proto::CrcEngine::make(*profile.crc).value());
}

Order order_of(std::uint32_t number, std::uint32_t last, const TelegramView& view) {
    const std::uint32_t mask = view.codec().number_mask();
    const proto::LinkSettings& link = view.end().link;
    if (link.exchange == proto::Exchange::streaming)
        return proto::order_in_stream(number, last, link.missing_allowed, mask);
    if (view.direction() == Direction::to_device) return proto::order_at_polled_device(number, last, mask);
    // an answer to the number before the one accepted last may come late as well
    if (number == ((last - 1) & mask)) return Order::repeat;
    return proto::order_at_polled_device(number, last, mask);
}

}  // namespace

TelegramView::TelegramView(const CaptureSettings& settings, Hop hop)
    : end_(&settings.end(whose(hop))),
      hop_(hop),
      source_(arrives(hop) ? end_->link.peer_address : end_->link.own_address),
      destination_(arrives(hop) ? end_->link.own_address : end_->link.peer_address),
      payload_bytes_(arrives(hop) ? end_->link.payload_received : end_->link.payload_sent),
      crc_(engine_of(end_->link.profile)),
      codec_(end_->link.profile, crc_.get(), sender(direction_of(hop)), source_, destination_, payload_bytes_) {}

TypedAddress TelegramView::source_as_typed() const {
    return {source_, arrives(hop_) ? end_->peer_digits : end_->own_digits};
}
TypedAddress TelegramView::destination_as_typed() const {
    return {destination_, arrives(hop_) ? end_->own_digits : end_->peer_digits};
}

TelegramReader::TelegramReader(const CaptureSettings& settings)
    : views_{TelegramView(settings, Hop::controller_to_channel), TelegramView(settings, Hop::channel_to_device),
             TelegramView(settings, Hop::device_to_channel), TelegramView(settings, Hop::channel_to_controller)},
      polled_(settings.controller.link.exchange == proto::Exchange::polled),
      mask_(view(Hop::controller_to_channel).codec().number_mask()) {}

TelegramReader::Followed& TelegramReader::followed(Stream stream) {
    if (streams_.size() >= streams_most && !streams_.contains(stream)) streams_.clear();
    return streams_[stream];
}

/// Takes the first number of a connection from its handshake. What is said twice counts once, unless a stream has moved
/// on without having been heard.
void TelegramReader::follow(Followed& stream, const proto::ParameterTelegram& parameters) {
    using Step = proto::ParameterTelegram::Step;
    if (parameters.step == Step::confirm) first_number_ = parameters.start_number;
    if (parameters.step != Step::confirm && parameters.step != Step::ready) return;
    if (stream.connection == parameters.controller_number && stream.any) return;
    const std::uint32_t first = polled_ && parameters.step == Step::ready ? first_number_ : parameters.start_number;
    stream.connection = parameters.controller_number;
    stream.known = true;
    stream.any = false;
    stream.last = (first - 1) & mask_;
}

std::vector<std::uint32_t> TelegramReader::numbers_allowed(const Followed& stream, const TelegramView& view) {
    std::vector<std::uint32_t> numbers;
    const std::uint32_t mask = view.codec().number_mask();
    const proto::LinkSettings& link = view.end().link;
    if (link.exchange == proto::Exchange::streaming) {
        for (unsigned i = 1; i <= link.missing_allowed + 1; ++i) numbers.push_back((stream.last + i) & mask);
        return numbers;
    }
    numbers = {(stream.last + 1) & mask, stream.last};
    if (view.direction() == Direction::to_controller) numbers.push_back((stream.last - 1) & mask);
    return numbers;
}

void TelegramReader::process(Followed& stream, const TelegramView& view, std::span<const std::uint8_t> bytes,
                             TelegramSeen& seen) {
    const proto::Presence presence = view.profile().sequence.presence;
    const bool implied = presence == proto::Presence::implied;
    if (implied && !stream.known) {
        seen.unknown = true;
        return;
    }
    if (implied) seen.tries = numbers_allowed(stream, view);
    const proto::Codec::Decoded decoded = implied ? view.codec().decode(bytes, seen.tries) : view.codec().decode(bytes);
    seen.verdict.failed = decoded.failed;
    if (presence == proto::Presence::carried || (implied && !decoded.failed.has(proto::Measure::integrity)))
        seen.number = decoded.header.number;
    Order order = Order::fresh;
    if (seen.number && stream.known) {
        order = order_of(*seen.number, stream.last, view);
        if (order == Order::repeat && !stream.any) order = Order::wrong;
        if (order == Order::wrong) seen.verdict.failed.add(proto::Measure::sequence);
    }
    seen.verdict.number = seen.number.value_or(0);
    seen.verdict.sender_safe = (decoded.header.status & proto::status_safe) != 0;
    seen.verdict.kind = !seen.verdict.failed.empty() ? Verdict::Kind::rejected
                        : order == Order::repeat     ? Verdict::Kind::repeat
                                                     : Verdict::Kind::fresh;
}

TelegramSeen TelegramReader::read(Stream key, Hop hop, std::span<const std::uint8_t> bytes) {
    Followed& stream = followed(key);
    const TelegramView& view = views_[static_cast<std::size_t>(hop)];
    TelegramSeen seen;
    if (const auto parameters = proto::decode_parameters(bytes)) {
        seen.kind = TelegramSeen::Kind::parameter;
        seen.verdict.kind = Verdict::Kind::handshake;
        seen.parameters = parameters;
        return seen;
    }
    if (bytes.size() != view.layout().total_bytes) {
        seen.kind = TelegramSeen::Kind::strange;
        seen.verdict.kind = Verdict::Kind::rejected;
        seen.verdict.failed.add(proto::Measure::integrity);
        return seen;
    }
    process(stream, view, bytes, seen);
    return seen;
}

void TelegramReader::concluded(Stream key, const TelegramSeen& seen, Verdict::Kind kind) {
    Followed& stream = followed(key);
    if (kind == Verdict::Kind::handshake && seen.parameters) follow(stream, *seen.parameters);
    if (kind != Verdict::Kind::fresh || !seen.number || seen.kind != TelegramSeen::Kind::process) return;
    stream.known = true;
    stream.any = true;
    stream.last = *seen.number;
}

}  // namespace sim
