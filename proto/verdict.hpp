#pragma once
// What a receiver concludes about a telegram. A rejected telegram is a conclusion, not an error of the program.
#include <cstdint>
#include <string_view>

namespace proto {

/// The measures against communication errors (terms of IEC 61784-3), in the order in which a receiver applies them
/// where it applies several: the first that fails is the one that detected the error.
enum class Measure : std::uint8_t {
    cross_check,          ///< redundancy with cross-checking: two copies compared
    integrity,            ///< data integrity assurance: length, layout, CRC
    authentication,       ///< connection authentication: addresses and direction
    sequence,             ///< sequence number
    feedback,             ///< feedback message: the number that the peer sends back
    time_stamp,           ///< age by time stamp
    time_expectation,     ///< watchdog
    different_integrity,  ///< another integrity system than that of non-safety traffic on the same channel
};
inline constexpr unsigned measure_count = 8;

/// The name that files and JSON use, e.g. "time-expectation".
constexpr std::string_view name_of(Measure measure) {
    switch (measure) {
        case Measure::cross_check: return "cross-check";
        case Measure::integrity: return "integrity";
        case Measure::authentication: return "authentication";
        case Measure::sequence: return "sequence";
        case Measure::feedback: return "feedback";
        case Measure::time_stamp: return "time-stamp";
        case Measure::time_expectation: return "time-expectation";
        case Measure::different_integrity: return "different-integrity";
    }
    return "?";
}

/// A small set of measures.
class MeasureSet {
  public:
    constexpr MeasureSet() = default;
    constexpr void add(Measure m) { bits_ = static_cast<std::uint16_t>(bits_ | bit(m)); }
    constexpr void remove(Measure m) { bits_ = static_cast<std::uint16_t>(bits_ & ~bit(m)); }
    constexpr void add(MeasureSet others) { bits_ = static_cast<std::uint16_t>(bits_ | others.bits_); }
    /// The number of an answer that answers nothing asked: it fails by what it feeds back, and by its sequence besides.
    constexpr void add_wrong_answer() {
        bits_ = static_cast<std::uint16_t>(bits_ | bit(Measure::sequence) | bit(Measure::feedback) | answer);
    }
    [[nodiscard]] constexpr bool has(Measure m) const { return (bits_ & bit(m)) != 0; }
    [[nodiscard]] constexpr bool empty() const { return bits_ == 0; }
    /// The first in checking order; requires !empty().
    [[nodiscard]] constexpr Measure first() const {
        unsigned i = 0;
        while (i + 1 < measure_count && ((bits_ >> i) & 1U) == 0) ++i;
        const auto found = static_cast<Measure>(i);
        return found == Measure::sequence && (bits_ & answer) != 0 ? Measure::feedback : found;
    }
    /// To be kept and made again: a bit for each measure, and one more.
    [[nodiscard]] constexpr std::uint16_t packed() const { return bits_; }
    static constexpr MeasureSet from_packed(std::uint16_t packed) {
        MeasureSet set;
        set.bits_ = static_cast<std::uint16_t>(packed & (2 * answer - 1));
        return set;
    }
    friend constexpr bool operator==(MeasureSet, MeasureSet) = default;

  private:
    static constexpr unsigned bit(Measure m) { return 1U << static_cast<unsigned>(m); }
    static constexpr unsigned answer = 1U << measure_count;  ///< of two in the same step feedback is told first
    std::uint16_t bits_ = 0;
};

struct Verdict {
    enum class Kind : std::uint8_t {
        fresh,      ///< accepted: a new value and a sign of life
        repeat,     ///< in order, but nothing new: no sign of life, no error
        ignored,    ///< not looked at: the end is starting and waits for a parameter telegram
        handshake,  ///< a parameter telegram that was understood
        rejected,   ///< detected as wrong by failed.first()
    };
    Kind kind = Kind::ignored;
    /// Every measure that would have rejected it; first() is the one that did. Empty unless rejected.
    MeasureSet failed;
    /// The number that the telegram carries or, if implied, the one under which its CRC fits; 0 if unknown.
    std::uint32_t number = 0;
    /// The sender says that it holds substitute values (only meaningful for fresh and repeat).
    bool sender_safe = false;
};

}  // namespace proto
