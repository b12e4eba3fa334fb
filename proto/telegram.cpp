#include "proto/telegram.hpp"

#include <algorithm>

#include "proto/bytes.hpp"
#include "proto/telegram_body.hpp"

namespace proto {
namespace {

__extension__ using Wide = unsigned __int128;

}  // namespace

FieldPlaces places_of(const Profile& profile, unsigned payload_bytes) {
    const auto layout = layout_of(profile, payload_bytes, ProfileUse::single_measure);
    require(layout.ok(), "places_of() needs a possible profile");
    FieldPlaces places;
    unsigned at = 0;
    const auto next = [&at](unsigned bits) {
        const FieldPlace place{at, bits};
        at += bits;
        return place;
    };
    const unsigned address = profile.address.presence == Presence::carried ? profile.address.bits : 0;
    places.status = next(8);
    places.source = next(address);
    places.destination = next(address);
    places.number = next(profile.sequence.presence == Presence::carried ? profile.sequence.bits : 0);
    places.feedback = next(profile.feedback ? profile.sequence.bits : 0);
    places.stamp = next(profile.time_stamp_bits);
    places.echo = next(echo_bits(profile));
    at = layout.value().header_bytes * 8;
    places.payload = next(payload_bytes * 8);
    places.crc = next(layout.value().crc_bytes * 8);
    return places;
}

void Codec::Slot::put(HeaderWords& words, std::uint32_t value) const {
    if (bits == 0) return;
    const auto wide = static_cast<Wide>(value & low_mask(bits)) << right;  // never into the neighbouring field
    words[word] |= static_cast<std::uint64_t>(wide >> 64);
    words[word + 1] |= static_cast<std::uint64_t>(wide);
}

std::uint32_t Codec::Slot::take(const HeaderWords& words) const {
    if (bits == 0) return 0;
    const Wide wide = static_cast<Wide>(words[word]) << 64 | words[word + 1];
    return static_cast<std::uint32_t>(wide >> right) & low_mask(bits);
}

Codec::Codec(const Profile& profile, const CrcEngine* crc, End sender, std::uint32_t source, std::uint32_t destination,
             unsigned payload_bytes)
    : crc_(crc), own_source_(source), own_destination_(destination) {
    const auto layout = layout_of(profile, payload_bytes, ProfileUse::single_measure);
    require(layout.ok(), "Codec needs a possible profile");
    require((crc != nullptr) == profile.crc.has_value(), "Codec needs the profile's CRC engine");
    layout_ = layout.value();
    header_words_ = (layout_.header_bytes + 7) / 8;
    number_mask_ = low_mask(profile.sequence.bits);
    const FieldPlaces places = places_of(profile, payload_bytes);
    const auto slot = [](const FieldPlace& place) {
        const unsigned word = place.first_bit / 64;
        return place.bits == 0
                   ? Slot{}
                   : Slot{word, 128 - (place.first_bit - word * 64) - place.bits, place.bits, low_mask(place.bits)};
    };
    source_ = slot(places.source);
    destination_ = slot(places.destination);
    number_ = slot(places.number);
    feedback_ = slot(places.feedback);
    stamp_ = slot(places.stamp);
    echo_ = slot(places.echo);
    // nothing behind the end is read, so the shortest telegrams go the long way
    short_header_ = layout_.header_bytes <= 8 && layout_.total_bytes >= 8;
    more_than_number_ = feedback_.bits + stamp_.bits + echo_.bits != 0;
    if (profile.sequence.presence == Presence::implied) implied_number_bytes_ = (profile.sequence.bits + 7) / 8;
    zero_as_one_ = profile.zero_as_one;
    low_byte_first_ = profile.crc && profile.crc->reflect_out;
    two_copies_ = profile.copies == 2;
    direction_carried_ = profile.direction == Presence::carried;
    direction_bit_ = direction_carried_ && sender == End::device ? status_from_device : 0;

    source_.put(fixed_, source);
    destination_.put(fixed_, destination);
    fixed_[0] |= std::uint64_t{direction_bit_} << status_shift;
    source_.put(fixed_mask_, low_mask(source_.bits));
    destination_.put(fixed_mask_, low_mask(destination_.bits));
    const unsigned padding = layout_.header_bytes * 8 - layout_.header_bits;
    slot({layout_.header_bits, padding}).put(padding_mask_, low_mask(padding));
    unused_mask_first_ = std::uint64_t{static_cast<std::uint8_t>(~(status_used | status_from_device))} << status_shift;
    if (!direction_carried_) unused_mask_first_ |= std::uint64_t{status_from_device} << status_shift;
    for (unsigned i = 0; i < header_words_; ++i) fixed_mask_[i] |= padding_mask_[i];
    fixed_mask_[0] |= std::uint64_t{static_cast<std::uint8_t>(~status_used)} << status_shift;

    if (crc == nullptr) return;
    // what is implied comes first, in whole bytes: direction, source, destination, then the number
    std::array<std::uint8_t, 9> prefix{};
    unsigned bytes = 0;
    if (profile.direction == Presence::implied) prefix[bytes++] = sender == End::device ? 1 : 0;
    if (profile.address.presence == Presence::implied) {
        store_be(prefix.data() + bytes, source, 4);
        store_be(prefix.data() + bytes + 4, destination, 4);
        bytes += 8;
    }
    prefix_ = crc->feed(crc->start(), std::span<const std::uint8_t>(prefix.data(), bytes));
}

CrcEngine::Register Codec::after_number(std::uint32_t number) const {
    std::array<std::uint8_t, 4> bytes{};
    store_be(bytes.data(), number, implied_number_bytes_);
    return crc_->feed(prefix_, std::span<const std::uint8_t>(bytes.data(), implied_number_bytes_));
}

std::uint64_t Codec::crc_of(std::span<const std::uint8_t> first_copy, std::uint32_t number) const {
    require(crc_ != nullptr && first_copy.size() >= layout_.header_bytes + layout_.payload_bytes, "crc_of() too short");
    return crc_over(first_copy.data(), number & number_mask_);
}

Codec::HeaderWords Codec::long_header(const Header& header) const {
    HeaderWords words = fixed_;
    words[0] |= std::uint64_t{static_cast<std::uint8_t>(header.status & status_used)} << status_shift;
    number_.put(words, header.number);
    feedback_.put(words, header.feedback);
    stamp_.put(words, header.stamp);
    echo_.put(words, header.echo);
    return words;
}

void Codec::encode(const Header& header, std::span<const std::uint8_t> payload,
                   std::span<std::uint8_t, telegram_bytes_max> out) const {
    encode_in_place(header, payload, out);
}

Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes) const { return decode_in_place(bytes, {}); }
Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries) const {
    return decode_in_place(bytes, tries);
}

bool Codec::all_zero(std::span<const std::uint8_t> bytes) {
    return std::all_of(bytes.begin(), bytes.end(), [](std::uint8_t b) { return b == 0; });
}

bool Codec::copies_agree(const std::uint8_t* copy) const {
    std::uint8_t difference = 0;
    for (unsigned i = 0; i < layout_.copy_bytes; ++i)
        difference = static_cast<std::uint8_t>(difference | (copy[i] ^ copy[layout_.copy_bytes + i] ^ 0xFF));
    return difference == 0;
}

Codec::HeaderWords Codec::words_of(std::span<const std::uint8_t> bytes) const {
    HeaderWords words{};
    for (unsigned i = 0; i < header_words_; ++i) {
        const std::size_t left = bytes.size() - i * 8;  // nothing behind the end is read
        words[i] = left >= 8 ? load_be64(bytes.data() + i * 8)
                             : load_be(bytes.data() + i * 8, static_cast<unsigned>(left)) << (64 - 8 * left);
    }
    return words;
}

void Codec::read_long_header(const HeaderWords& words, Header& header) const {
    header.status = static_cast<std::uint8_t>(words[0] >> status_shift);
    header.number = number_.take(words);
    header.feedback = feedback_.take(words);
    header.stamp = stamp_.take(words);
    header.echo = echo_.take(words);
}

// only the numbers that are allowed now
bool Codec::fits_a_try(const std::uint8_t* copy, std::span<const std::uint32_t> tries, std::uint64_t found,
                       std::uint32_t& number) const {
    for (const std::uint32_t each : tries) {
        if (crc_over(copy, each) != found) continue;
        number = each;
        return true;
    }
    return false;
}

void Codec::explain(const HeaderWords& words, Decoded& result, bool intact) const {
    std::uint64_t unused = words[0] & unused_mask_first_;
    for (unsigned i = 0; i < header_words_; ++i) unused |= words[i] & padding_mask_[i];
    if (!intact || (unused != 0 && crc_ != nullptr)) result.failed.add(Measure::integrity);
    const bool addresses_fit =
        source_.bits == 0 || (source_.take(words) == own_source_ && destination_.take(words) == own_destination_);
    const bool direction_fits =
        !direction_carried_ || (result.header.status & status_from_device) == direction_bit_;
    if (!addresses_fit || !direction_fits) result.failed.add(Measure::authentication);
}

}  // namespace proto
