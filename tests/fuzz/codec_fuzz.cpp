// The codec by any profile: what it writes it reads back, the quick ways say what the whole ways say, one bent byte is
// seen by any CRC, and any bytes at all are taken. The parameter telegram likewise.
#include <array>
#include <map>
#include <utility>
#include <vector>

#include "proto/parameters.hpp"
#include "proto/telegram.hpp"
#include "proto/telegram_body.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

using fuzz::broken;
using namespace proto;
using Bytes = std::vector<std::uint8_t>;

/// Building the tables of a CRC takes longer than all the rest: one of each width, forwards and reflected, is made
/// once, and for short telegrams of each length what makes their CRC by difference.
const CrcEngine& engine(unsigned width, bool reflected, unsigned message_bytes) {
    static std::map<std::pair<unsigned, unsigned>, CrcEngine> made;
    constexpr unsigned short_bytes = 32;
    const std::pair key{width * 2 + (reflected ? 1 : 0), message_bytes <= short_bytes ? message_bytes : 0};
    if (const auto found = made.find(key); found != made.end()) return found->second;
    const std::uint64_t mask = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
    // multiples of an odd number with bits all over: no table is like another
    const std::uint64_t mixed = std::uint64_t{0x9E3779B97F4A7C15} * (key.first + 1);
    const CrcSpec spec{width, (mixed & mask) | 1, (mixed >> 3) & mask, reflected, reflected, (mixed >> 7) & mask};
    CrcEngine& kept = made.emplace(key, CrcEngine::make(spec).value()).first->second;
    if (key.second != 0) kept.know_differences({key.second, key.second});
    return kept;
}

Field field(fuzz::Input& input) {
    const auto presence = static_cast<Presence>(input.below(3));
    const unsigned bits = input.below(33);
    return {presence, presence == Presence::absent ? 0 : bits};
}

Profile profile_of(fuzz::Input& input) {
    Profile profile;
    profile.address = field(input);
    profile.sequence = field(input);
    profile.direction = static_cast<Presence>(input.below(3));
    profile.feedback = input.flag();
    profile.time_stamp_bits = input.flag() ? input.between(8, 32) : 0;
    profile.time_stamp_kind = input.flag() ? StampKind::clock : StampKind::echo;
    profile.zero_as_one = input.flag();
    profile.copies = input.between(1, 2);
    profile.payload_bytes = input.between(1, payload_bytes_max);
    return profile;
}

std::uint32_t mask_of(unsigned bits) { return bits >= 32 ? ~std::uint32_t{0} : (std::uint32_t{1} << bits) - 1; }

bool fits(const Field& address, std::uint32_t value) {
    return address.presence != Presence::carried || (value & ~mask_of(address.bits)) == 0;
}

bool same(const Codec::Decoded& a, const Codec::Decoded& b, unsigned payload_bytes) {
    if (!(a.failed == b.failed) || a.readable != b.readable) return false;
    if (!a.readable) return true;
    const Header &x = a.header, &y = b.header;
    return x.status == y.status && x.number == y.number && x.feedback == y.feedback && x.stamp == y.stamp &&
           x.echo == y.echo && std::equal(a.payload, a.payload + payload_bytes, b.payload);
}

/// One way of a link of the input's profile.
class Way {
  public:
    Way(const Profile& profile, const CrcEngine* crc, const Layout& layout, fuzz::Input& input)
        : profile_(profile),
          source_(static_cast<std::uint32_t>(input.number(4))),
          destination_(static_cast<std::uint32_t>(input.number(4))),
          has_crc_(crc != nullptr),
          codec_(profile, crc, input.flag() ? End::device : End::controller, source_, destination_,
                 layout.payload_bytes),
          total_(layout.total_bytes),
          exact_(total_),
          payload_(layout.payload_bytes) {}

    /// Some telegrams one after the other, each differing from the last as the input says.
    void send(fuzz::Input& input) {
        Header header;
        constexpr unsigned most = 2;
        for (unsigned round = 0; round == 0 || (round < most && !input.empty()); ++round) {
            change(header, input);
            codec_.encode(header, payload_, out_);
            codec_.encode_next(header, payload_, sent_);
            if (!std::equal(out_.begin(), out_.begin() + total_, sent_.bytes.begin()))
                broken("encode_next() is not encode()");
            std::copy_n(out_.begin(), total_, exact_.begin());
            check_own(header);
            check_bent(header, input);
        }
    }

    void take(std::span<const std::uint8_t> bytes) {
        const Bytes any(bytes.begin(), bytes.end());
        compare_quick(any);
        const std::array<std::uint32_t, 2> tries{0, 1};
        static_cast<void>(codec_.decode(any, tries));
    }

  private:
    void change(Header& header, fuzz::Input& input) {
        const unsigned what = input.byte();
        header.number = (header.number + 1) & codec_.number_mask();
        if ((what & 1U) != 0) header.status = input.byte() & 0x0FU;
        if ((what & 2U) != 0) header.number = static_cast<std::uint32_t>(input.number(4)) & codec_.number_mask();
        if ((what & 4U) != 0) header.feedback = static_cast<std::uint32_t>(input.number(4));
        if ((what & 8U) != 0) header.stamp = static_cast<std::uint32_t>(input.number(4));
        if ((what & 16U) != 0) header.echo = static_cast<std::uint32_t>(input.number(4));
        if ((what & 32U) != 0) payload_[input.below(payload_.size())] = input.byte();
        if ((what & 64U) != 0) std::fill(payload_.begin(), payload_.end(), input.byte());
    }

    [[nodiscard]] Codec::Decoded read(const Header& header) const {
        const std::array<std::uint32_t, 1> tries{header.number};
        return codec_.decode(exact_, tries);
    }

    void check_own(const Header& header) {
        const Codec::Decoded got = read(header);
        if (!got.readable) broken("an own telegram cannot be read");
        const bool zero = std::all_of(exact_.begin(), exact_.end(), [](std::uint8_t b) { return b == 0; });
        const bool ours = fits(profile_.address, source_) && fits(profile_.address, destination_);
        if (ours && !zero && !got.failed.empty()) broken("an own telegram is refused");
        if (!got.failed.empty()) return;
        const bool numbered = profile_.sequence.presence == Presence::carried ||
                              (profile_.sequence.presence == Presence::implied && has_crc_);
        const unsigned stamp = profile_.time_stamp_bits;
        if ((got.header.status & ~status_from_device) != header.status) broken("another status is read");
        if (numbered && got.header.number != header.number) broken("another number is read");
        if (profile_.feedback && got.header.feedback != (header.feedback & mask_of(profile_.sequence.bits)))
            broken("another feedback is read");
        if (stamp != 0 && got.header.stamp != (header.stamp & mask_of(stamp))) broken("another stamp is read");
        if (echo_bits(profile_) != 0 && got.header.echo != (header.echo & mask_of(stamp)))
            broken("another echo is read");
        if (!std::equal(payload_.begin(), payload_.end(), got.payload)) broken("another payload is read");
        compare_quick(exact_);
    }

    /// A burst of at most 8 bits is seen by every CRC of at least 8 bits with a constant term (W. W. Peterson and
    /// D. T. Brown, Cyclic codes for error detection, Proc. IRE 49, 1961). Not where 0 is sent as 1: both read the
    /// same.
    void check_bent(const Header& header, fuzz::Input& input) {
        const unsigned mask = input.byte();
        if (mask == 0) return;
        std::uint8_t& bent = exact_[input.below(total_)];
        bent = static_cast<std::uint8_t>(bent ^ mask);
        if (has_crc_ && !profile_.zero_as_one && read(header).failed.empty()) broken("a bent byte is not seen");
        compare_quick(exact_);
        if (has_crc_) static_cast<void>(codec_.crc_of(exact_, header.number));
    }

    void compare_quick(const Bytes& bytes) {
        if (profile_.sequence.presence == Presence::implied) return;  // that needs numbers to try
        const Codec::Decoded whole = codec_.decode(bytes);
        Codec::Decoded by_comparing;
        codec_.decode_next(bytes, received_, by_comparing);
        if (!same(whole, by_comparing, codec_.layout().payload_bytes)) broken("decode_next() is not decode()");
    }

    const Profile& profile_;
    std::uint32_t source_, destination_;
    bool has_crc_;
    Codec codec_;
    unsigned total_;
    Bytes exact_, payload_;
    std::array<std::uint8_t, telegram_bytes_max> out_{};
    Codec::Last sent_, received_;
};

void try_parameters(fuzz::Input& input) {
    std::array<std::uint8_t, parameter_telegram_bytes> bytes{};
    const auto given = input.bytes(bytes.size());
    std::copy(given.begin(), given.end(), bytes.begin());
    if (input.flag()) {  // as if its check were right: else no input comes past it
        constexpr std::size_t own = parameter_head_bytes + 40, all = parameter_telegram_bytes - 4;
        const std::span<const std::uint8_t> whole(bytes);
        const auto put = [&](std::size_t at, std::size_t from, std::size_t length) {
            const std::uint32_t check = parameter_crc(whole.subspan(from, length));
            for (unsigned i = 0; i < 4; ++i) bytes[at + i] = static_cast<std::uint8_t>(check >> (24 - 8 * i));
        };
        put(own, parameter_head_bytes, 40);
        put(all, 0, all);
    }
    const auto read = decode_parameters(bytes);
    if (!read) return;
    std::array<std::uint8_t, parameter_telegram_bytes> again{};
    encode(*read, again);
    if (again != bytes) broken("a parameter telegram is read as another");
    const ParameterBlock block(read->parameters);
    std::array<std::uint8_t, parameter_telegram_bytes> quick{};
    encode(*read, block, quick);
    const auto expected = decode_parameters(bytes, block);
    if (quick != bytes || !expected || expected->start_number != read->start_number)
        broken("the quick way of parameter telegrams is another");
    if (first_difference(read->parameters, expected->parameters) != Refusal::none) broken("parameters differ");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    if (input.below(8) == 0) {
        try_parameters(input);
        return 0;
    }
    Profile profile = profile_of(input);
    const bool with_crc = input.below(8) != 0, reflected = input.flag();
    const unsigned width = input.between(8, 64);
    if (with_crc) profile.crc = engine(width, reflected, 0).spec();
    const auto layout = layout_of(profile, profile.payload_bytes, ProfileUse::single_measure);
    static_cast<void>(identity_of(profile));
    if (!layout) return 0;
    const unsigned differing = with_crc ? Codec::differing_bytes(profile, profile.payload_bytes) : 0;
    Way way(profile, with_crc ? &engine(width, reflected, differing) : nullptr, layout.value(), input);
    way.send(input);
    way.take(input.rest());
    return 0;
}
