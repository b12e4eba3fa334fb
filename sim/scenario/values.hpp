#pragma once
// Whole-number values in the payload, besides bits: what each means, how it is typed at each end, and what gives it at
// its sender. A quantity is an integer number of the smallest unit of its kind, as sim/scenario/units.hpp reads it.
#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/ends.hpp"

namespace sim {

/// Of one scenario, both ways together.
inline constexpr std::size_t values_max = 16;

enum class ValueType : std::uint8_t { u8, u16, i16, u32, i32 };
/// "u16".
std::string_view name_of(ValueType type);
/// 1, 2 or 4.
unsigned bytes_of(ValueType type);
/// The smallest and the largest count that fit.
std::int64_t lowest_count(ValueType type);
std::int64_t highest_count(ValueType type);

enum class ValueOrder : std::uint8_t {
    high_first,
    low_first,
    word_swapped,  ///< of four bytes: the low word first, each word high byte first
};
/// "high-first".
std::string_view name_of(ValueOrder order);
/// "high byte first".
std::string_view words_of(ValueOrder order);

/// What one count is so much of, with the smallest unit in which quantities are kept.
enum class ValueUnit : std::uint8_t {
    none,          ///< a plain number; kept in millionths
    speed,         ///< um/s
    length,        ///< um
    duration,      ///< ns
    angle,         ///< 0.001 degree
    acceleration,  ///< um/s2
};

/// "speed", "none".
std::string_view name_of(ValueUnit unit);

/// Which end of its range a substitute value lies at: the one that permits least.
enum class SafeEnd : std::uint8_t { low, high };
/// "low".
std::string_view name_of(SafeEnd end);

/// What gives a value at the end that sends it.
struct ValueSource {
    enum class Kind : std::uint8_t {
        constant,       ///< the first step, always
        over_time,      ///< each step from its time on; before the first one the substitute
        machine_state,  ///< of a machine at that end: `stands`, `reduced`, `full`
        machine_speed,  ///< its speed, as it is scanned
        passed_on,      ///< what its sender uses of another value, `from`
    };
    struct Step {
        Duration at{};
        std::int64_t is = 0;
    };
    Kind kind = Kind::constant;
    std::vector<Step> steps = {};
    std::int64_t stands = 0, reduced = 0, full = 0;
    std::string from = {};
    bool from_elsewhere = false;  ///< another link of the cell brings it
};

/// A safe value. Where the link does not run, and where what is read lies outside its range, its substitute is used.
struct SafeValue {
    std::string name;
    Direction direction = Direction::to_device;
    ValueUnit unit = ValueUnit::none;
    std::int64_t low = 0, high = 0;  ///< the range, both included
    SafeEnd safe = SafeEnd::low;
    ValueSource source;
    Place where;

    /// It lies at the safe end of the range.
    [[nodiscard]] std::int64_t substitute() const { return safe == SafeEnd::low ? low : high; }
    [[nodiscard]] bool in_range(std::int64_t quantity) const { return low <= quantity && quantity <= high; }
    /// `a` permits less than `b`.
    [[nodiscard]] bool is_safer(std::int64_t a, std::int64_t b) const { return safe == SafeEnd::low ? a < b : a > b; }
    [[nodiscard]] std::int64_t safer(std::int64_t a, std::int64_t b) const { return is_safer(a, b) ? a : b; }
};

/// How a value lies in the payload, as typed at one end.
struct TypedValue {
    ValueType type = ValueType::u16;
    unsigned at = 0;  ///< its first byte
    ValueOrder order = ValueOrder::high_first;
    std::int64_t scale = 1;  ///< one count is so much; above 0
    Place where;
    friend bool operator==(const TypedValue& a, const TypedValue& b) {
        return a.type == b.type && a.at == b.at && a.order == b.order && a.scale == b.scale;
    }
};

/// All values of a scenario.
struct Values {
    std::vector<SafeValue> all;
    std::array<std::vector<TypedValue>, 2> typed;  ///< by End; as many as there are values, in their order

    [[nodiscard]] bool any() const { return !all.empty(); }
    [[nodiscard]] const TypedValue& at(End end, std::size_t value) const {
        return typed[static_cast<std::size_t>(end) & 1][value];
    }
    /// Its place among `all`; one past the last if there is none of that name.
    [[nodiscard]] std::size_t place_of(std::string_view name) const;
};

/// What all values of a scenario are at one moment, in their order: of those that nobody asks for, nothing is said.
struct ValueWord {
    std::array<std::int64_t, values_max> is{};
    std::uint32_t substitute = 0;    ///< one bit each: it stands for a value that is not there
    std::uint32_t out_of_range = 0;  ///< one bit each: because what was read lies outside the range

    [[nodiscard]] bool is_substitute(std::size_t value) const { return (substitute >> value & 1) != 0; }
    [[nodiscard]] bool was_out_of_range(std::size_t value) const { return (out_of_range >> value & 1) != 0; }
    friend bool operator==(const ValueWord&, const ValueWord&) = default;
};

/// "100 mm/s", "-12.5", "0.2 deg": exact, and readable again as a quantity of that unit.
std::string in_words(std::int64_t quantity, ValueUnit unit);

}  // namespace sim
