#pragma once
// Profiles and settings that the tests of the endpoints share. The profiles are of the kind that ships: one for each
// way of using a CRC.
#include <cstdint>
#include <string_view>
#include <vector>

#include "proto/link_settings.hpp"
#include "proto/profile.hpp"

namespace tests {

/// Addresses and number carried, CRC-32 with polynomial 0xF4ACFB13 as in IEC 62541-15: a result of 0 is sent as 1.
proto::Profile carried_crc32();
/// Addresses implied, an 8-bit number carried, CRC-24/FLEXRAY-A.
proto::Profile implied_addresses_crc24();
/// Two copies, an 8-bit number carried, CRC-16/IBM-3740.
proto::Profile two_copies_crc16();
/// Number and direction implied, CRC-32/AUTOSAR, which is reflected.
proto::Profile reflected_crc32();
/// All four.
std::vector<proto::Profile> profiles_like_shipped();

/// A valid profile of that name with a number of `bits` bits and nothing special, for tests of endpoints.
proto::Profile plain_profile(unsigned bits = 16);

/// Both ends' settings; change each before a bench takes them.
struct Pair {
    proto::LinkSettings controller;
    proto::LinkSettings device;
    /// Applies the same change to both ends.
    template <class Change>
    Pair& both(Change change) {
        change(controller);
        change(device);
        return *this;
    }
};

/// Polled: cycle and scan 10 ms, watchdogs 50 ms, reaction trip, 8 bytes of payload each way.
Pair polled_pair(const proto::Profile& profile = plain_profile());
/// Streaming: the same times, no telegram may be missing.
Pair streaming_pair(const proto::Profile& profile = plain_profile());

}  // namespace tests
