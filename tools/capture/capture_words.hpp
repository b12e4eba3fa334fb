#pragma once
// The comments in a capture: what was done to a telegram, and what an end made of it. Read back by decode.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "sim/channel/passage.hpp"
#include "sim/judge/telegram_trace.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// "Injection 1 (corruption, 3 bits): altered on its way." Of a telegram that sets out. Of one of several links:
/// "Injection 1 of link infeed (...".
std::string befallen(const sim::Scenario& scenario, const sim::Tag& tag, sim::Fate fate);
/// The same of one that arrives; empty if nothing was done to it.
std::string done_to(const sim::Scenario& scenario, const sim::Tag& tag, sim::End to);

/// "Bits 12 and 77 are turned over.", counted from the highest of byte 0; or how many bytes are missing. Empty if the
/// two are the same.
std::string changed(std::span<const std::uint8_t> was, std::span<const std::uint8_t> is);

/// What an end made of a telegram, in words: "rejected (CRC; also number)".
struct Conclusion {
    enum class Kind : std::uint8_t { accepted, accepted_wrongly, repeat, ignored, handshake, rejected, unheard };
    Kind kind = Kind::accepted;
    proto::MeasureSet failed = {};                  ///< rejected: by these
    sim::WhyUnheard why = sim::WhyUnheard::missed;  ///< unheard
};
Conclusion conclusion_of(const proto::Verdict& verdict);
/// "press I/O: rejected (CRC; also number)."
std::string sentence_of(std::string_view end, const Conclusion& conclusion);
/// What sentence_of() says of that end at the end of a comment, or nothing.
std::optional<Conclusion> conclusion_in(std::string_view comment, std::string_view end);
/// On a telegram that nobody looked at any more.
inline constexpr std::string_view run_ended = "The run ended before anybody looked at it.";
/// A comment of befallen() says that the telegram arrived nowhere.
bool says_dropped(std::string_view comment);

}  // namespace tools
