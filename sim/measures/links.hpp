#pragma once
// Links to look at measures with: one measure alone, all of them, all but one, or what a telegram profile has. Without
// a CRC, without a watchdog and with numbers that nobody judges they exist only here.
#include <optional>

#include "proto/link_settings.hpp"
#include "proto/verdict.hpp"

namespace sim {

/// What is typed at the two ends, and which measures that makes.
struct StudyLink {
    proto::Exchange exchange = proto::Exchange::streaming;
    proto::LinkSettings controller, device;
    proto::MeasureSet measures;
    /// The integrity system of the non-safety traffic on the same channel; nothing: another one than the link's own.
    std::optional<proto::CrcSpec> other_traffic_crc = {};
    proto::ProfileUse use = proto::ProfileUse::link;
    enum class Payload : std::uint8_t { any_length, as_set } payload = Payload::any_length;
};

/// A stream whose telegrams have this measure and no other. Another integrity system needs an integrity system to
/// differ from: that one has both.
StudyLink with_only(proto::Measure measure);

/// A stream with all eight.
StudyLink with_every_measure();

/// A link of that profile, or why there is none with this exchange and the times of the study.
proto::Result<StudyLink, proto::SettingsError> link_of(const proto::Profile& profile, proto::Exchange exchange);

/// Whether the link has the measure and still is a link without it: a polled exchange is paced by its number and by
/// what the answer feeds back, so it keeps both.
bool can_do_without(const StudyLink& link, proto::Measure measure);

/// The same link without a measure; requires can_do_without(). What rests on the measure goes with it: without a CRC
/// nothing implied is covered, and the integrity system of other traffic is no other.
StudyLink without(StudyLink link, proto::Measure measure);

}  // namespace sim
