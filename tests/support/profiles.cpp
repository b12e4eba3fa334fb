#include "tests/support/profiles.hpp"

#include "proto/crc_catalogue.hpp"

namespace tests {
namespace {

using proto::Presence;

proto::Profile with_crc(std::string_view name) {
    proto::Profile profile;
    profile.name = name;
    profile.crc_name = name;
    const proto::NamedCrc* const found = proto::find_crc(name);
    proto::require(found != nullptr, "a test names a CRC that the catalogue lacks");
    profile.crc = found->spec;
    return profile;
}

}  // namespace

proto::Profile carried_crc32() {
    proto::Profile profile;
    profile.name = "carried crc32";
    profile.address = {Presence::carried, 16};
    profile.sequence = {Presence::carried, 16};
    profile.crc = proto::CrcSpec{.width = 32, .polynomial = 0xF4ACFB13, .initial = 1};
    profile.zero_as_one = true;
    return profile;
}

proto::Profile implied_addresses_crc24() {
    proto::Profile profile = with_crc("CRC-24/FLEXRAY-A");
    profile.address = {Presence::implied, 16};
    profile.sequence = {Presence::carried, 8};
    return profile;
}

proto::Profile two_copies_crc16() {
    proto::Profile profile = with_crc("CRC-16/IBM-3740");
    profile.sequence = {Presence::carried, 8};
    profile.copies = 2;
    return profile;
}

proto::Profile reflected_crc32() {
    proto::Profile profile = with_crc("CRC-32/AUTOSAR");
    profile.address = {Presence::carried, 12};
    profile.sequence = {Presence::implied, 12};
    profile.direction = Presence::implied;
    return profile;
}

std::vector<proto::Profile> profiles_like_shipped() {
    return {carried_crc32(), implied_addresses_crc24(), two_copies_crc16(), reflected_crc32()};
}

proto::Profile plain_profile(unsigned bits) {
    proto::Profile profile = carried_crc32();
    profile.name = "plain";
    profile.sequence.bits = bits;
    return profile;
}

Pair polled_pair(const proto::Profile& profile) {
    Pair pair;
    pair.both([&](proto::LinkSettings& s) { s.profile = profile; });
    pair.controller.end = proto::End::controller;
    pair.controller.own_address = pair.device.peer_address = 0x101;
    pair.device.end = proto::End::device;
    pair.device.own_address = pair.controller.peer_address = 0x202;
    return pair;
}

Pair streaming_pair(const proto::Profile& profile) {
    Pair pair = polled_pair(profile);
    pair.both([](proto::LinkSettings& s) { s.exchange = proto::Exchange::streaming; });
    return pair;
}

}  // namespace tests
