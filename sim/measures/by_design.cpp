#include "sim/measures/by_design.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "proto/telegram.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

using proto::LinkSettings;
using proto::Presence;
using proto::Profile;

class Collected {
  public:
    void add(ErrorKind error, std::string words) { found_.push_back({error, std::move(words)}); }
    void add(std::vector<Undetectable> others) {
        for (Undetectable& each : others) found_.push_back(std::move(each));
    }
    /// In the order of the errors.
    std::vector<Undetectable> take() {
        std::stable_sort(found_.begin(), found_.end(),
                         [](const Undetectable& a, const Undetectable& b) { return a.error < b.error; });
        return std::move(found_);
    }

  private:
    std::vector<Undetectable> found_;
};

void add_addresses(const Profile& profile, Collected& found) {
    if (profile.address.presence != Presence::absent) return;
    found.add(ErrorKind::insertion,
              "a telegram of another link with the same profile and a number that fits: no address is "
              "carried or covered by the CRC");
    found.add(ErrorKind::addressing,
              "a telegram that went to the wrong link, when both have the same profile and its number fits there: no "
              "address is carried or covered by the CRC");
    if (profile.direction == Presence::absent)
        found.add(ErrorKind::addressing,
                  "a sender's own telegram looped back to it: neither direction nor address tells it apart");
}

void add_number(const Profile& profile, Collected& found) {
    constexpr unsigned bits_soon_over = 16;  // wider numbers come again after years at any usual cycle
    if (profile.sequence.presence == Presence::absent || profile.sequence.bits > bits_soon_over) return;
    const std::string numbers = std::to_string(std::uint64_t{1} << profile.sequence.bits);
    found.add(ErrorKind::repetition, "a telegram of this connection that comes again after exactly " + numbers +
                                         " numbers, when its number fits once more");
    found.add(ErrorKind::incorrect_sequence,
              "a telegram that comes after exactly " + numbers + " later ones, when its number fits once more");
    found.add(ErrorKind::insertion,
              "a telegram of an earlier start of this link whose number fits by chance, for each "
              "number that is accepted once in " +
                  numbers);
}

void add_no_number(Collected& found) {
    const std::string why = ": no number is judged, and what is no older than stamps or feedback permit passes";
    found.add(ErrorKind::repetition, "a telegram of this connection that comes again" + why);
    found.add(ErrorKind::incorrect_sequence, "a telegram that comes after later ones" + why);
    found.add(ErrorKind::insertion, "a telegram of an earlier start of this link, which has the right addresses" + why);
}

void add_crc(const Profile& profile, Collected& found) {
    if (profile.crc)
        found.add(ErrorKind::corruption, "bit errors that happen to give a valid " +
                                             std::to_string(profile.crc->width) + "-bit CRC" +
                                             (profile.copies == 2 ? " in both copies alike" : "") +
                                             "; how often is what the residual error tells");
    else
        found.add(ErrorKind::corruption, profile.copies == 2
                                             ? "bit errors that strike both copies alike: there is no CRC"
                                             : "bit errors in the payload: there is neither a CRC nor a second copy");
}

}  // namespace

std::vector<Undetectable> undetectable_by(const Profile& profile) {
    Collected found;
    add_addresses(profile, found);
    add_number(profile, found);
    add_crc(profile, found);
    found.add(ErrorKind::masquerade,
              "forged telegrams with valid CRC, addresses and number: that is an attack, against which these "
              "measures are not made");
    return found.take();
}

bool may_be_all_zero(const Profile& profile, std::uint32_t controller_address, std::uint32_t device_address) {
    if (!profile.crc || profile.zero_as_one || profile.copies == 2 || profile.address.presence == Presence::carried)
        return false;
    const proto::CrcEngine crc = proto::CrcEngine::make(*profile.crc).value();
    constexpr unsigned numbers_bits_most = 16;
    const std::uint32_t numbers = 1U << std::min(profile.sequence.bits, numbers_bits_most);
    const bool number_counts = profile.sequence.presence == Presence::implied;  // a carried one must be 0
    const std::vector<std::uint8_t> payload(profile.payload_bytes);
    std::array<std::uint8_t, proto::telegram_bytes_max> telegram{};
    for (const End sender : {End::controller, End::device}) {
        const bool out = sender == End::controller;
        const proto::Codec codec(profile, &crc, sender, out ? controller_address : device_address,
                                 out ? device_address : controller_address, profile.payload_bytes);
        for (std::uint32_t number = 0; number < (number_counts ? numbers : 1); ++number) {
            codec.encode(proto::Header{.number = number}, payload, telegram);
            if (std::all_of(telegram.begin(), telegram.begin() + codec.layout().total_bytes,
                            [](std::uint8_t byte) { return byte == 0; }))
                return true;
        }
    }
    return false;
}

std::vector<Undetectable> undetectable_in_a_stream(const Profile& profile) {
    if (profile.time_stamp_bits != 0 || profile.feedback) return {};
    return {{ErrorKind::delay,
             "in a stream, delay that grows slowly, and any step of delay within the watchdog: the profile has neither "
             "time stamp nor feedback, so nothing measures the age of a telegram"}};
}

std::vector<Undetectable> undetectable_with(const LinkSettings& settings,
                                            const std::optional<proto::CrcSpec>& other_traffic_crc) {
    Collected found;
    Profile profile = settings.profile;
    const bool judged =
        profile.sequence.presence != Presence::absent && settings.number_use == proto::NumberUse::judged;
    if (!judged) profile.sequence = {};
    constexpr proto::Duration longest_watchdog = proto::seconds(3600);  // of any link
    const bool unwatched = settings.watchdog > longest_watchdog;
    found.add(undetectable_by(profile));
    if (!judged) add_no_number(found);
    if (settings.exchange == proto::Exchange::streaming && profile.time_stamp_bits == 0 && !settings.max_lag) {
        found.add(ErrorKind::delay,
                  "delay that grows slowly: every telegram comes in time after the one before, and nothing measures "
                  "its age");
        if (!unwatched)
            found.add(ErrorKind::delay, "a step of delay below " + written(settings.watchdog - settings.cycle) +
                                            " (watchdog less the cycle), for the same reason");
    }
    if (unwatched) {
        const std::string why =
            ": there is no watchdog, and numbers, stamps and feedback speak only when a telegram comes";
        found.add(ErrorKind::loss, "silence while it lasts" + why);
        found.add(ErrorKind::delay, "a value that grows old until the next one comes" + why);
    }
    if (profile.crc && other_traffic_crc == profile.crc)
        found.add(ErrorKind::masquerade,
                  "telegrams of other traffic with the same kind of CRC, when they look right otherwise");
    return found.take();
}

std::vector<Undetectable> undetectable_by_any() {
    return {{ErrorKind::none,
             "two signals exchanged at one end: the parameter signature covers which bits are in use, not what they "
             "mean; demand each safeguard once and watch which signal falls"},
            {ErrorKind::none,
             "application data that no longer changes behind a living link; the link vouches for the way, not for the "
             "source"}};
}

}  // namespace sim
