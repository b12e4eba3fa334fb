#pragma once
// Whom to answer, and what: one who asks at a time, each well-formed ask once, with as many bytes, nothing else ever.
// So nobody gets more out of it than he put in.
#include <cstdint>
#include <optional>
#include <span>

#include "proto/time.hpp"
#include "sim/capture/datagram.hpp"
#include "sim/roundtrips/measuring_datagram.hpp"

namespace sim {

/// For so long nobody else is answered after the last ask of whoever is, unless he says farewell. Longer than the
/// longest cycle in which one may ask.
inline constexpr proto::Duration asker_is_gone_after = proto::seconds(15);

class Answering {
  public:
    struct Counts {
        std::uint64_t answered = 0;
        std::uint64_t refused = 0;    ///< well-formed asks of others meanwhile
        std::uint64_t strangers = 0;  ///< what is no ask or farewell of ours
        std::uint64_t askers = 0;     ///< runs that were answered, one after the other
    };
    /// Who asks now, by the run and where it comes from.
    struct Asker {
        SocketAddress from;
        std::uint32_t run = 0;
        friend bool operator==(const Asker&, const Asker&) = default;
    };

    /// What is to be sent back for what came in at `now`, with as many bytes; nothing: stay silent. The time of an
    /// answer is put in by whoever sends it. `now` never goes back.
    std::optional<MeasuringDatagram> hear(const SocketAddress& from, std::span<const std::uint8_t> bytes,
                                          proto::Instant now);
    [[nodiscard]] const Counts& counts() const { return counts_; }
    [[nodiscard]] const std::optional<Asker>& asker() const { return asker_; }

  private:
    Counts counts_;
    std::optional<Asker> asker_;
    proto::Instant heard_{};  ///< the last ask of `asker_`
};

}  // namespace sim
