#include "tools/capture/capture_decoder.hpp"

#include "proto/bytes.hpp"
#include "sim/reading/capture_settings.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/file_failure.hpp"
#include "tools/program/given_file.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using sim::Direction;
using sim::Hop;
using Verdict = ListedTelegram::Verdict;
using Bytes = std::span<const std::uint8_t>;

constexpr std::size_t flows_most = 4096;

Verdict verdict_of(const sim::TelegramSeen& seen) {
    using Kind = proto::Verdict::Kind;
    if (seen.unknown) return Verdict::unchecked;
    switch (seen.verdict.kind) {
        case Kind::fresh: return Verdict::accepted;
        case Kind::repeat: return Verdict::repeat;
        case Kind::ignored: return Verdict::ignored;
        case Kind::handshake: return Verdict::handshake;
        case Kind::rejected: break;
    }
    return Verdict::rejected;
}

Verdict verdict_of(Conclusion::Kind kind) {
    switch (kind) {
        case Conclusion::Kind::accepted: return Verdict::accepted;
        case Conclusion::Kind::accepted_wrongly: return Verdict::dangerous;
        case Conclusion::Kind::repeat: return Verdict::repeat;
        case Conclusion::Kind::ignored: return Verdict::ignored;
        case Conclusion::Kind::handshake: return Verdict::handshake;
        case Conclusion::Kind::rejected: return Verdict::rejected;
        case Conclusion::Kind::unheard: break;
    }
    return Verdict::unheard;
}

proto::Verdict::Kind kind_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::accepted:
        case Verdict::dangerous: return proto::Verdict::Kind::fresh;
        case Verdict::repeat: return proto::Verdict::Kind::repeat;
        case Verdict::handshake: return proto::Verdict::Kind::handshake;
        default: return proto::Verdict::Kind::ignored;
    }
}

Failure no_fit(const std::string& file, const std::string& why) { return Failure{Status::bad_input, file, 0, {}, why}; }

proto::Result<GivenProfile, Failure> given_profile(const std::string& typed) {
    const auto given = GivenFile::of(typed);
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (!given.value().is_profile()) return no_fit(file, "is a scenario; name the file of a telegram profile");
    auto read = given.value().profile();
    if (!read) return read.error();
    return GivenProfile{file, std::move(read.value())};
}

/// Telegrams on one hop follow each other.
std::uint64_t stream_of(const ListedTelegram& telegram) { return static_cast<std::uint64_t>(telegram.hop); }

Direction way_of(proto::ParameterTelegram::Step step) {
    using Step = proto::ParameterTelegram::Step;
    return step == Step::offer || step == Step::confirm ? Direction::to_device : Direction::to_controller;
}

}  // namespace

CaptureDecoder::CaptureDecoder(sim::CaptureSource source, sim::PacketReader reader)
    : source_(std::move(source)), packets_reader_(std::move(reader)) {}

proto::Result<CaptureDecoder, Failure> CaptureDecoder::open(const sim::CaptureSource& source,
                                                            const std::optional<std::string>& profile) {
    // a file that is no capture is told before a profile that is none
    if (!profile) return open_by(source, nullptr);
    if (const auto capture = sim::PacketReader::open(source); !capture) return failure_of(capture.error());
    const auto given = given_profile(*profile);
    if (!given) return given.error();
    return open_by(source, &given.value());
}

proto::Result<CaptureDecoder, Failure> CaptureDecoder::open_by(const sim::CaptureSource& source,
                                                               const GivenProfile* profile) {
    const std::string& path = source.path;
    auto reader = sim::PacketReader::open(source);
    if (!reader) return failure_of(reader.error());
    CaptureDecoder decoder(source, std::move(reader).value());
    const std::optional<sim::FileError> damaged = decoder.read_settings();
    decoder.ours_ = !decoder.links_.empty();
    if (!decoder.ours_ && profile == nullptr) {
        if (damaged) return failure_of(*damaged);
        return usage("--profile", "is needed, since " + in_quotes(path) +
                                      " does not say how its telegrams are built; write --profile and the file of "
                                      "their telegram profile");
    }
    if (profile != nullptr)
        if (auto failure = decoder.use_profile(*profile)) return *failure;
    decoder.make_readers();
    if (!decoder.ours_) {
        if (auto failure = decoder.learn()) return *failure;
        if (!decoder.rewind()) return machine_said_no(path, "has changed while it was read; try again");
    }
    return decoder;
}

void CaptureDecoder::make_readers() {
    for (const auto& link : links_) link->reader = std::make_unique<sim::TelegramReader>(link->settings);
}

/// What it says about itself: of one link, or of each of several. Returns what is wrong with it.
std::optional<sim::FileError> CaptureDecoder::read_settings() {
    const sim::PcapngNotes* notes = packets_reader_->notes();
    if (notes == nullptr) return std::nullopt;
    for (const std::string& comment : notes->section_comments()) {
        if (!comment.starts_with(sim::settings_mark)) continue;
        auto settings = sim::read_capture_settings(comment, source_.path);
        if (!settings) {
            links_.clear();
            return settings.error();
        }
        // of one link the first are those that count; of several each has a name
        const bool alone = settings.value().link.empty();
        if (!links_.empty() && (alone || links_.size() == sim::cell_links_max)) break;
        links_.push_back(std::make_unique<Link>(Link{std::move(settings).value()}));
        if (alone) break;
    }
    return std::nullopt;
}

std::optional<Failure> CaptureDecoder::use_profile(const GivenProfile& given) {
    const proto::Profile& profile = given.profile;
    if (links_.empty()) {
        links_.push_back(std::make_unique<Link>());
        sim::CaptureSettings& settings = links_.front()->settings;
        for (sim::CapturedEnd* end : {&settings.controller, &settings.device}) {
            end->link.payload_sent = end->link.payload_received = profile.payload_bytes;
            end->link.exchange = profile.feedback ? proto::Exchange::streaming : proto::Exchange::polled;
        }
        settings.controller.name = "controller";
        settings.device.name = "device";
        settings.device.link.end = proto::End::device;
    }
    for (const auto& link : links_) {
        sim::CaptureSettings& settings = link->settings;
        if (ours_ && identity_of(settings.controller.link.profile) != identity_of(profile)) {
            const std::string of = settings.link.empty() ? "its telegrams" : "those of link " + plain(settings.link);
            remarks_.push_back("The capture says that " + of + " are built by the profile " +
                               plain(settings.controller.link.profile.name) + "; they are read by " +
                               plain(profile.name) + " instead, as asked for.");
        }
        for (sim::CapturedEnd* end : {&settings.controller, &settings.device}) {
            end->link.profile = profile;
            for (const unsigned bytes : {end->link.payload_sent, end->link.payload_received})
                if (!proto::layout_of(profile, bytes))
                    return no_fit(given.file, "makes no telegram of the " + std::to_string(bytes) +
                                                  " bytes of payload that the capture's have; name their own profile");
        }
    }
    return std::nullopt;
}

/// What both ends agreed on, out of a handshake in another's capture.
void CaptureDecoder::take(const proto::ParameterTelegram& telegram) {
    const proto::LinkParameters& agreed = telegram.parameters;
    sim::CaptureSettings& theirs = links_.front()->settings;
    const proto::Profile& profile = settings().controller.link.profile;
    if (agreed.profile_identity != identity_of(profile))
        remarks_.push_back("The handshake names a profile of the identity " +
                           sim::written_hex(agreed.profile_identity, 8) + ", that of " + plain(profile.name) + " is " +
                           sim::written_hex(identity_of(profile), 8) + ": another profile was in use.");
    if (!proto::layout_of(profile, agreed.payload_to_device) ||
        !proto::layout_of(profile, agreed.payload_to_controller))
        return;
    for (sim::CapturedEnd* end : {&theirs.controller, &theirs.device}) {
        const bool controller = end == &theirs.controller;
        proto::LinkSettings& link = end->link;
        link.own_address = controller ? agreed.controller_address : agreed.device_address;
        link.peer_address = controller ? agreed.device_address : agreed.controller_address;
        link.payload_sent = controller ? agreed.payload_to_device : agreed.payload_to_controller;
        link.payload_received = controller ? agreed.payload_to_controller : agreed.payload_to_device;
        link.exchange = agreed.exchange;
        link.byte_order = agreed.byte_order;
        link.missing_allowed = agreed.missing_allowed;
    }
}

/// The addresses that an intact telegram carries; false if it is none.
bool CaptureDecoder::take_addresses(Bytes bytes) {
    const proto::Profile& profile = settings().controller.link.profile;
    if (profile.address.presence != proto::Presence::carried || bytes.empty()) return false;
    const bool implied_number = profile.sequence.presence == proto::Presence::implied;
    const bool from_device = profile.direction == proto::Presence::carried && (bytes[0] & proto::status_from_device);
    const sim::TelegramView& view = this->view(from_device ? Hop::channel_to_controller : Hop::channel_to_device);
    if (bytes.size() != view.layout().total_bytes) return false;
    // an implied number cannot be read, and so its CRC not be checked
    const auto failed = view.codec().decode(bytes).failed;
    if (!implied_number && (failed.has(proto::Measure::integrity) || failed.has(proto::Measure::cross_check)))
        return false;
    const proto::FieldPlaces places = proto::places_of(profile, view.payload_bytes());
    const auto value = [&](proto::FieldPlace place) {
        std::uint32_t out = 0;
        for (unsigned i = place.first_bit; i < place.first_bit + place.bits; ++i)
            out = out << 1 | (bytes[i / 8] >> (7 - i % 8) & 1U);
        return out;
    };
    const std::uint32_t source = value(places.source), destination = value(places.destination);
    proto::LinkSettings& controller = links_.front()->settings.controller.link;
    proto::LinkSettings& device = links_.front()->settings.device.link;
    controller.own_address = device.peer_address = from_device ? destination : source;
    device.own_address = controller.peer_address = from_device ? source : destination;
    return true;
}

void CaptureDecoder::say_what_was_learned(bool handshake, bool addresses) {
    const proto::Profile& profile = settings().controller.link.profile;
    if (handshake) {
        remarks_.emplace_back(
            "Addresses, payload lengths and exchange are those of the first handshake in the capture.");
        return;
    }
    const std::string begin = "The capture holds no handshake";
    if (profile.address.presence == proto::Presence::implied) {
        addresses_known_ = false;
        remarks_.push_back(begin +
                           ", and the CRC covers addresses that are not in the telegrams: it cannot be checked.");
    } else if (addresses) {
        remarks_.push_back(begin + ": the addresses are those of its first intact telegram, numbers count from there.");
    }
    if (profile.sequence.presence == proto::Presence::implied)
        remarks_.push_back(begin + ", and the CRC covers numbers that are not in the telegrams: it cannot be checked.");
}

std::optional<Failure> CaptureDecoder::learn() {
    bool handshake = false, addresses = false;
    while (!handshake) {
        const auto packet = packets_reader_->next();
        if (!packet) break;
        const auto datagram = sim::datagram_in(packet->link_type, packet->bytes);
        if (!datagram || datagram->kind != sim::Datagram::Kind::udp || datagram->cut) continue;
        if (const auto parameters = proto::decode_parameters(datagram->payload)) {
            take(*parameters);
            handshake = true;
        } else if (!addresses) {
            addresses = take_addresses(datagram->payload);
        }
    }
    say_what_was_learned(handshake, addresses);
    return std::nullopt;
}

bool CaptureDecoder::rewind() {
    auto reader = sim::PacketReader::open(source_);
    if (!reader) return false;
    packets_reader_.emplace(std::move(reader).value());
    make_readers();
    first_ns_.reset();
    packets_ = others_ = 0;
    flows_.clear();
    senders_.clear();
    return true;
}

std::optional<ListedTelegram> CaptureDecoder::next() {
    while (const auto packet = packets_reader_->next()) {
        ++packets_;
        if (!first_ns_) first_ns_ = packet->at_ns;
        const auto datagram = sim::datagram_in(packet->link_type, packet->bytes);
        if (datagram && datagram->kind == sim::Datagram::Kind::udp && !datagram->cut && !datagram->fragment)
            if (auto telegram = ours_ ? own(*packet, *datagram) : foreign(*packet, *datagram)) {
                telegram->packet = packet->number;
                telegram->time = {packet->at_ns - (ours_ ? settings().begun_ns : *first_ns_)};
                telegram->comment = packet->comment;
                telegram->bytes.assign(datagram->payload.begin(), datagram->payload.end());
                return telegram;
            }
        ++others_;
    }
    return std::nullopt;
}

std::optional<ListedTelegram> CaptureDecoder::own(const sim::Packet& packet, const sim::Datagram& datagram) {
    if (packet.interface >= sim::hop_count * links_.size()) return std::nullopt;
    ListedTelegram telegram;
    telegram.link = packet.interface / sim::hop_count;
    telegram.hop = static_cast<Hop>(packet.interface % sim::hop_count);
    telegram.comment = packet.comment;
    telegram.seen = links_[telegram.link]->reader->read(stream_of(telegram), telegram.hop, datagram.payload);
    judge_own(telegram);
    return telegram;
}

/// The end's own word stands in the comment; without one the telegram was accepted or was a repeat.
void CaptureDecoder::judge_own(ListedTelegram& telegram) {
    const std::uint64_t stream = stream_of(telegram);
    sim::TelegramReader& reader = *links_[telegram.link]->reader;
    telegram.verdict = verdict_of(telegram.seen);
    telegram.failed = telegram.seen.verdict.failed;
    if (!sim::arrives(telegram.hop)) {
        reader.concluded(stream, telegram.seen, kind_of(telegram.verdict));
        telegram.verdict = says_dropped(telegram.comment) ? Verdict::dropped : Verdict::sent;
        telegram.failed = {};
        return;
    }
    const std::string& name = settings(telegram.link).end(sim::receiver(sim::direction_of(telegram.hop))).name;
    if (const auto conclusion = conclusion_in(telegram.comment, name)) {
        telegram.verdict = verdict_of(conclusion->kind);
        telegram.failed = conclusion->failed;
    } else if (telegram.comment.find(run_ended) != std::string::npos) {
        telegram.verdict = Verdict::unheard;
        telegram.failed = {};
    } else if (telegram.comment.find(sim::CaptureWriter::too_late) != std::string::npos) {
        telegram.verdict = Verdict::unchecked;
        telegram.failed = {};
    } else if (proto::MeasureSet only; telegram.verdict == Verdict::rejected) {
        only.add(proto::Measure::sequence);
        if (telegram.failed == only) {
            telegram.verdict = Verdict::repeat;
            telegram.failed = {};
        }
    }
    reader.concluded(stream, telegram.seen, kind_of(telegram.verdict));
}

Direction CaptureDecoder::direction_of(const sim::Datagram& datagram) {
    const Bytes bytes = datagram.payload;
    const auto known = [&](Direction way) {
        if (senders_.size() >= flows_most) senders_.clear();
        senders_.insert_or_assign(datagram.from, way);
        return way;
    };
    if (const auto parameters = proto::decode_parameters(bytes)) return known(way_of(parameters->step));
    const proto::Profile& profile = settings().controller.link.profile;
    if (profile.direction == proto::Presence::carried && !bytes.empty())
        return (bytes[0] & proto::status_from_device) != 0 ? Direction::to_controller : Direction::to_device;
    if (const auto found = senders_.find(datagram.from); found != senders_.end()) return found->second;
    // whoever answers somebody known goes the other way; else the first one is taken for the controller
    if (const auto peer = senders_.find(datagram.to); peer != senders_.end())
        return known(peer->second == Direction::to_device ? Direction::to_controller : Direction::to_device);
    return known(Direction::to_device);
}

bool CaptureDecoder::fits(Bytes bytes, Direction direction) const {
    const Hop hop = sim::arriving_hop(sim::receiver(direction));
    return bytes.size() == view(hop).layout().total_bytes || proto::decode_parameters(bytes).has_value();
}

std::optional<ListedTelegram> CaptureDecoder::foreign(const sim::Packet&, const sim::Datagram& datagram) {
    const Direction direction = direction_of(datagram);
    if (!fits(datagram.payload, direction)) return std::nullopt;
    ListedTelegram telegram;
    telegram.hop = sim::arriving_hop(sim::receiver(direction));
    telegram.hop_known = false;
    if (flows_.size() >= flows_most) flows_.clear();
    const std::uint64_t stream = flows_.try_emplace({datagram.from, datagram.to}, flows_.size()).first->second;
    telegram.seen = links_.front()->reader->read(stream, telegram.hop, datagram.payload);
    if (!addresses_known_ && telegram.seen.kind == sim::TelegramSeen::Kind::process) telegram.seen.unknown = true;
    telegram.verdict = verdict_of(telegram.seen);
    telegram.failed = telegram.seen.verdict.failed;
    proto::MeasureSet only;
    only.add(proto::Measure::sequence);
    // what is not in the capture may have come all the same: the next one is judged by this one
    const bool go_on = telegram.verdict == Verdict::rejected && telegram.failed == only;
    links_.front()->reader->concluded(stream, telegram.seen,
                                      go_on ? proto::Verdict::Kind::fresh : kind_of(telegram.verdict));
    return telegram;
}

}  // namespace tools
