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

unsigned Codec::differing_bytes(const Profile& profile, unsigned payload_bytes) {
    const auto layout = layout_of(profile, payload_bytes, ProfileUse::single_measure);
    if (!layout.ok() || !profile.crc) return 0;
    const unsigned covered = layout.value().header_bytes + payload_bytes;
    // the eight bytes that may differ must not reach into the CRC
    const bool suits = layout.value().header_bytes <= CrcDifference::bytes && covered >= CrcDifference::bytes;
    return suits && profile.sequence.presence != Presence::implied ? covered : 0;
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
    covered_bytes_ = layout_.header_bytes + layout_.payload_bytes;
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
    four_high_first_ = layout_.crc_bytes == 4 && !low_byte_first_;
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
    fixed_first_ = fixed_[0];
    fixed_mask_first_ = fixed_mask_[0];

    if (crc == nullptr) return;
    difference_ = crc->difference(differing_bytes(profile, payload_bytes));
    if (difference_ != nullptr) {
        header_mask_ = ~std::uint64_t{0} << (64 - 8 * layout_.header_bytes);
        const unsigned following = std::min((number_.right - 64) / 8, CrcDifference::bytes - 2);
        counting_ = difference_->of_two(following);
        not_counting_mask_ = ~(number_.placed(number_mask_) & std::uint64_t{0xFFFF} << (8 * following));
    }
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
    require(crc_ != nullptr && first_copy.size() >= covered_bytes_, "crc_of() too short");
    return as_sent(crc_over(first_copy.data(), number & number_mask_));
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
    write_data(header, payload, out);
    if (crc_ != nullptr) {
        const std::uint64_t value = crc_over(out.data(), header.number & number_mask_);
        store_crc(as_sent(value), out.data() + covered_bytes_);
    }
    if (two_copies_) invert_copy(out.data());
}

// Not written out where they are called: most telegrams carry the same values as the one before.
[[gnu::noinline]] void Codec::encode_anew(Header header, std::span<const std::uint8_t> payload, Last& last) const {
    std::uint8_t* const bytes = last.bytes.data();
    write_data(header, payload, last.bytes);
    if (crc_ != nullptr) {
        last.value = crc_over(bytes, header.number & number_mask_);
        last.word = load_be64(bytes);
        last.known = difference_ != nullptr;
        store_crc(as_sent(last.value), bytes + covered_bytes_);
    }
    if (two_copies_) invert_copy(bytes);
}

void Codec::remember(const std::uint8_t* copy, std::uint64_t value, Last& last) const {
    last.known = true;
    last.word = load_be64(copy);
    last.value = value;
    copy_short(last.bytes.data() + 8, copy + 8, covered_bytes_ - 8);
}

std::uint64_t Codec::renewed_wholly(Last& last, std::uint64_t changed) const {
    last.word ^= changed;
    return last.value ^= difference_->of(changed);
}

// a reflected CRC goes out least significant byte first, so that bursts stay bursts
void Codec::store_other_crc(std::uint64_t value, std::uint8_t* at) const {
    if (low_byte_first_)
        store_le(at, value, layout_.crc_bytes);
    else
        store_be(at, value, layout_.crc_bytes);
}

std::uint64_t Codec::load_other_crc(const std::uint8_t* at) const {
    return low_byte_first_ ? load_le(at, layout_.crc_bytes) : load_be(at, layout_.crc_bytes);
}

void Codec::invert_copy(std::uint8_t* copy) const {
    for (unsigned i = 0; i < layout_.copy_bytes; ++i)
        copy[layout_.copy_bytes + i] = static_cast<std::uint8_t>(~copy[i]);
}

Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes) const { return decoded(bytes, {}, nullptr); }
Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries) const {
    return decoded(bytes, tries, nullptr);
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
        const std::size_t left = bytes.size() - std::size_t{i} * 8;  // nothing behind the end is read
        const std::uint8_t* const at = bytes.data() + std::size_t{i} * 8;
        // in two steps: a shift by 64 has no meaning
        words[i] = left >= 8 ? load_be64(at) : load_be(at, static_cast<unsigned>(left)) << (56 - 8 * left) << 8;
    }
    return words;
}

Header Codec::read_long_header(const HeaderWords& words) const {
    return {static_cast<std::uint8_t>(words[0] >> status_shift), number_.take(words), feedback_.take(words),
            stamp_.take(words), echo_.take(words)};
}

// only the numbers that are allowed now
std::optional<std::uint32_t> Codec::fitting(const std::uint8_t* copy, std::span<const std::uint32_t> tries,
                                            std::uint64_t found) const {
    for (const std::uint32_t each : tries)
        if (as_sent(crc_over(copy, each)) == found) return each;
    return std::nullopt;
}

Codec::Decoded Codec::decoded(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries,
                              Last* last) const {
    Decoded result;
    if (__builtin_expect(bytes.size() != layout_.total_bytes, 0)) {
        result.failed.add(Measure::integrity);
        return result;
    }
    const std::uint8_t* const copy = bytes.data();
    result.readable = true;
    result.payload = copy + layout_.header_bytes;

    std::uint64_t first_word = 0;
    std::uint64_t differs = 0;  // from what each header of this way and link has in common
    if (__builtin_expect(short_header_, 1)) {
        first_word = load_be64(copy);
        result.header = read_short_header(first_word);
        differs = (first_word ^ fixed_[0]) & fixed_mask_[0];
    } else {
        const HeaderWords words = words_of(bytes);
        first_word = words[0];
        result.header = read_long_header(words);
        for (unsigned i = 0; i < header_words_; ++i) differs |= (words[i] ^ fixed_[i]) & fixed_mask_[i];
    }

    bool intact = true;
    if (crc_ != nullptr) {
        const std::uint64_t found = load_crc(result.payload + layout_.payload_bytes);
        if (__builtin_expect(implied_number_bytes_ != 0, 0)) {
            const auto number = fitting(copy, tries, found);
            intact = number.has_value();
            if (number) result.header.number = *number;
        } else {
            const std::uint64_t value = crc_over(copy, 0);
            intact = as_sent(value) == found;
            if (intact && last != nullptr && difference_ != nullptr) remember(copy, value, *last);
        }
    }
    // without a CRC there is no data integrity assurance at all, and a telegram of zeros may be a good one
    if (__builtin_expect(first_word == 0 && intact && crc_ != nullptr && all_zero(bytes), 0)) intact = false;
    if (differs != 0 || !intact || two_copies_) result.failed = failures(bytes, intact);
    return result;
}

MeasureSet Codec::failures(std::span<const std::uint8_t> bytes, bool intact) const {
    const HeaderWords words = words_of(bytes);
    MeasureSet failed;
    if (two_copies_ && !copies_agree(bytes.data())) failed.add(Measure::cross_check);
    std::uint64_t unused = words[0] & unused_mask_first_;
    for (unsigned i = 0; i < header_words_; ++i) unused |= words[i] & padding_mask_[i];
    if (!intact || (unused != 0 && crc_ != nullptr)) failed.add(Measure::integrity);
    const bool addresses_fit =
        source_.bits == 0 || (source_.take(words) == own_source_ && destination_.take(words) == own_destination_);
    const auto status = static_cast<std::uint8_t>(words[0] >> status_shift);
    const bool direction_fits = !direction_carried_ || (status & status_from_device) == direction_bit_;
    if (!addresses_fit || !direction_fits) failed.add(Measure::authentication);
    return failed;
}

}  // namespace proto
