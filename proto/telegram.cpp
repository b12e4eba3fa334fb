#include "proto/telegram.hpp"

#include <algorithm>

#include "proto/bytes.hpp"
#include "proto/crc_steps.hpp"

namespace proto {
namespace {

__extension__ using Wide = unsigned __int128;

constexpr std::uint8_t status_used = status_safe | status_request | status_acknowledge | status_restart;
constexpr unsigned status_shift = 56;  // the status byte is the first of the first word

/// A telegram of nothing but zeros, whatever its CRC says.
bool all_zero(std::span<const std::uint8_t> bytes) {
    return std::all_of(bytes.begin(), bytes.end(), [](std::uint8_t b) { return b == 0; });
}

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

// Steps of encode() and decode() marked always_inline are written out there: each is short, and a call with its saving
// of registers would take a third of its time.

// over everything in the copy, after everything implied.
[[gnu::always_inline]] inline std::uint64_t Codec::crc_over(const std::uint8_t* copy, std::uint32_t number) const {
    CrcEngine::Register state = __builtin_expect(implied_number_bytes_ != 0, 0) ? after_number(number) : prefix_;
    state =
        crc_->feed_in_place(state, std::span<const std::uint8_t>(copy, layout_.header_bytes + layout_.payload_bytes));
    const std::uint64_t value = crc_->finish(state);
    return zero_as_one_ && value == 0 ? 1 : value;
}

std::uint64_t Codec::crc_of(std::span<const std::uint8_t> first_copy, std::uint32_t number) const {
    require(crc_ != nullptr && first_copy.size() >= layout_.header_bytes + layout_.payload_bytes, "crc_of() too short");
    return crc_over(first_copy.data(), number & number_mask_);
}

[[gnu::always_inline]] inline void Codec::store_crc(std::uint64_t value, std::uint8_t* at) const {
    if (layout_.crc_bytes == 4 && !low_byte_first_) {  // by far the most common
        const std::uint32_t swapped = __builtin_bswap32(static_cast<std::uint32_t>(value));
        std::memcpy(at, &swapped, 4);
        return;
    }
    // a reflected CRC goes out least significant byte first, so that bursts stay bursts
    if (low_byte_first_)
        store_le(at, value, layout_.crc_bytes);
    else
        store_be(at, value, layout_.crc_bytes);
}

[[gnu::always_inline]] inline std::uint64_t Codec::load_crc(const std::uint8_t* at) const {
    if (layout_.crc_bytes == 4 && !low_byte_first_) {
        std::uint32_t swapped = 0;
        std::memcpy(&swapped, at, 4);
        return __builtin_bswap32(swapped);
    }
    return low_byte_first_ ? load_le(at, layout_.crc_bytes) : load_be(at, layout_.crc_bytes);
}

[[gnu::always_inline]] inline std::uint64_t Codec::short_header(const Header& header) const {
    std::uint64_t word = fixed_[0] |
                         std::uint64_t{static_cast<std::uint8_t>(header.status & status_used)} << status_shift |
                         number_.placed(header.number);
    if (more_than_number_)
        word |= feedback_.placed(header.feedback) | stamp_.placed(header.stamp) | echo_.placed(header.echo);
    return word;
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

// The copy is written in whole words, each of which the CRC reads back as it was written: words made of several
// stores would keep the reader waiting until they have reached the cache.
[[gnu::always_inline]] inline void Codec::write_copy(const std::uint64_t* header_words,
                                                     std::span<const std::uint8_t> payload,
                                                     std::span<std::uint8_t, telegram_bytes_max> out,
                                                     std::uint8_t* kept) const {
    // copies of the members: for all that the compiler knows, a byte stored might be one of theirs
    const unsigned header_bytes = layout_.header_bytes;
    const unsigned payload_bytes = layout_.payload_bytes;
    const unsigned data_bytes = header_bytes + payload_bytes;
    // where nothing is kept the same bytes are written twice in one place: no branch a word
    std::uint8_t* const first = out.data();
    std::uint8_t* const second = kept != nullptr ? kept : first;
    const auto store = [first, second](unsigned at, std::uint64_t word) {
        store_be64(first + at, word);
        store_be64(second + at, word);
    };
    unsigned at = 0;
    for (; at + 8 <= header_bytes; at += 8) store(at, header_words[at / 8]);
    const unsigned in_header = header_bytes - at;  // bytes of the word that header and payload share
    const std::uint8_t* from = payload.data();
    const std::uint8_t* const end = from + payload_bytes;
    if (data_bytes + 8 <= telegram_bytes_max && payload_bytes >= 8) {
        if (in_header != 0) {
            store(at, header_words[at / 8] | load_be64(from) >> (8 * in_header));
            from += 8 - in_header;
            at += 8;
        }
        for (; end - from >= 8; from += 8, at += 8) store(at, load_be64(from));
        const auto left = static_cast<unsigned>(end - from);
        if (left != 0) store(at, load_be64(end - 8) << (8 * (8 - left)));
    } else {
        std::uint8_t shared[8];
        if (in_header != 0) store_be64(shared, header_words[at / 8]);
        std::memcpy(first + at, shared, in_header);
        std::memcpy(first + header_bytes, from, payload_bytes);
        if (kept != nullptr) std::memcpy(kept, first, data_bytes);
    }
}

void Codec::encode(const Header& header, std::span<const std::uint8_t> payload,
                   std::span<std::uint8_t, telegram_bytes_max> out, std::uint8_t* kept) const {
    if (__builtin_expect(short_header_, 1)) {
        const std::uint64_t word = short_header(header);
        write_copy(&word, payload, out, kept);
    } else {
        const HeaderWords words = long_header(header);
        write_copy(words.data(), payload, out, kept);
    }
    if (crc_ != nullptr) {
        const unsigned data_bytes = layout_.header_bytes + layout_.payload_bytes;
        const std::uint64_t value = crc_over(out.data(), header.number & number_mask_);
        store_crc(value, out.data() + data_bytes);
        if (kept != nullptr) store_crc(value, kept + data_bytes);
    }
    if (__builtin_expect(two_copies_, 0)) {
        for (unsigned i = 0; i < layout_.copy_bytes; ++i)
            out[layout_.copy_bytes + i] = static_cast<std::uint8_t>(~out[i]);
        if (kept != nullptr)
            std::memcpy(kept + layout_.copy_bytes, out.data() + layout_.copy_bytes, layout_.copy_bytes);
    }
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

[[gnu::always_inline]] inline void Codec::read_short_header(std::uint64_t word, Header& header) const {
    header.status = static_cast<std::uint8_t>(word >> status_shift);
    header.number = number_.taken(word);
    if (!more_than_number_) return;
    header.feedback = feedback_.taken(word);
    header.stamp = stamp_.taken(word);
    header.echo = echo_.taken(word);
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

[[gnu::always_inline]] inline Codec::Decoded Codec::decoded(std::span<const std::uint8_t> bytes,
                                                            std::span<const std::uint32_t> tries) const {
    Decoded result;
    if (__builtin_expect(bytes.size() != layout_.total_bytes, 0)) {
        result.failed.add(Measure::integrity);
        return result;
    }
    const std::uint8_t* const copy = bytes.data();
    result.readable = true;
    result.payload = copy + layout_.header_bytes;

    Header& header = result.header;
    std::uint64_t first_word = 0;
    std::uint64_t differs = 0;  // from what each header of this way and link has in common
    if (__builtin_expect(short_header_, 1)) {
        first_word = load_be64(copy);
        read_short_header(first_word, header);
        differs = (first_word ^ fixed_[0]) & fixed_mask_[0];
    } else {
        const HeaderWords words = words_of(bytes);
        first_word = words[0];
        read_long_header(words, header);
        for (unsigned i = 0; i < header_words_; ++i) differs |= (words[i] ^ fixed_[i]) & fixed_mask_[i];
    }

    bool intact = true;
    if (crc_ != nullptr) {
        const std::uint64_t found = load_crc(result.payload + layout_.payload_bytes);
        intact = __builtin_expect(implied_number_bytes_ != 0, 0) ? fits_a_try(copy, tries, found, header.number)
                                                                 : crc_over(copy, header.number) == found;
    }
    // without a CRC there is no data integrity assurance at all, and a telegram of zeros may be a good one
    if (__builtin_expect(first_word == 0 && intact && crc_ != nullptr && all_zero(bytes), 0)) intact = false;
    const bool agree = !two_copies_ || copies_agree(copy);
    if (__builtin_expect(differs != 0 || !intact || !agree, 0)) {
        if (!agree) result.failed.add(Measure::cross_check);
        explain(words_of(bytes), result, intact);
    }
    return result;
}

// Two functions of the same body: a receiver calls the first in one place only, so that the link-time optimiser writes
// it out there.
Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes) const { return decoded(bytes, {}); }
Codec::Decoded Codec::decode(std::span<const std::uint8_t> bytes, std::span<const std::uint32_t> tries) const {
    return decoded(bytes, tries);
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
