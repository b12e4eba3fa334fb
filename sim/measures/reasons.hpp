#pragma once
// Why what is simulated differs from what is published: in words, for each case that occurs. The tests keep it complete
// and without entries that explain nothing. What gets through a whole link is by_design.hpp's.
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "proto/link_settings.hpp"
#include "proto/verdict.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

struct Reason {
    enum class About : std::uint8_t {
        sees,    ///< not marked, but the measure sees it, always or at times
        misses,  ///< marked, but the measure does not see it, never or not always
    };
    enum class Occurs : std::uint8_t { surely, by_chance };
    About about;
    ErrorKind error;
    proto::Measure measure;
    std::optional<proto::Exchange> exchange;  ///< nothing: in both
    std::string_view words;                   ///< a clause without capital and full stop
    Occurs occurs = Occurs::surely;           ///< with the shipped profiles and a few hundred trials
};

/// All of them.
std::span<const Reason> reasons();
/// The one for that case, or nullptr.
const Reason* reason_for(Reason::About about, ErrorKind error, proto::Measure measure, proto::Exchange exchange);

}  // namespace sim
