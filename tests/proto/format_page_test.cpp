// The examples of proto/FORMAT.md, computed anew: the page cannot say anything else than the code does.
#include <doctest/doctest.h>

#include <array>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>

#include "proto/parameters.hpp"
#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Codec;
using proto::End;
using tests::Bytes;

std::string page() {
    std::ifstream file(std::string(LINKDRILL_SOURCE_DIR) + "/proto/FORMAT.md");
    return {std::istreambuf_iterator<char>(file), {}};
}

/// The bytes of the block that begins with "```bytes NAME"; empty if there is none.
Bytes block(const std::string& name) {
    const std::string text = page(), opening = "```bytes " + name + "\n";
    const auto begin = text.find(opening);
    if (begin == std::string::npos) return {};
    const auto from = begin + opening.size();
    std::istringstream words(text.substr(from, text.find("```", from) - from));
    Bytes bytes;
    for (std::string word; words >> word;) bytes.push_back(static_cast<std::uint8_t>(std::stoul(word, nullptr, 16)));
    return bytes;
}

Bytes encoded(const proto::Profile& profile, End sender, std::uint32_t source, std::uint32_t destination,
              std::uint32_t number, const Bytes& payload) {
    const proto::CrcEngine crc = proto::CrcEngine::make(*profile.crc).value();
    const Codec codec(profile, &crc, sender, source, destination, static_cast<unsigned>(payload.size()));
    std::array<std::uint8_t, proto::telegram_bytes_max> out{};
    codec.encode({.number = number}, payload, out);
    return {out.begin(), out.begin() + codec.layout().total_bytes};
}

}  // namespace

TEST_CASE("FORMAT.md: the worked examples of process telegrams") {
    CHECK(block("carried-crc32") ==
          encoded(tests::carried_crc32(), End::device, 0x202, 0x101, 0xA5F0, {0x01, 0, 0, 0, 0x27, 0x10, 0, 0}));
    CHECK(block("two-copies-crc16") == encoded(tests::two_copies_crc16(), End::controller, 1, 2, 7, {0x40, 0x01}));
    const auto places = proto::places_of(tests::carried_crc32(), 8);
    CHECK(places.source.first_bit == 8);
    CHECK(places.destination.first_bit == 24);
    CHECK(places.number.first_bit == 40);
    CHECK(places.payload.first_bit == 7 * 8);
    CHECK(places.crc.first_bit == 15 * 8);
}

TEST_CASE("FORMAT.md: the worked example of a parameter telegram") {
    proto::ParameterTelegram offer;
    offer.controller_number = 0x0123456789ABCDEF;
    offer.start_number = 0xA5F0;
    offer.parameters = proto::parameters_of(tests::polled_pair(tests::carried_crc32()).controller);
    std::array<std::uint8_t, proto::parameter_telegram_bytes> bytes{};
    proto::encode(offer, bytes);
    CHECK(block("offer") == Bytes(bytes.begin(), bytes.end()));
}
