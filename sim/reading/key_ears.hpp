#pragma once
// What readers ask a file for, told to somebody who listens: the schema of a file is made of that, so that it knows
// what the readers know and nothing else.
#include <cstdint>
#include <functional>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/scenario/units.hpp"

namespace sim {

class Section;

/// What a key may hold, as one reader asks for it.
struct KeyShape {
    enum class Kind : std::uint8_t {
        named,         ///< known, and nothing said of what it holds
        text,          ///< any text, unless another reader asks for something narrower
        any_text,      ///< any text, whatever else is asked for
        flag,          ///< true or false
        integer,       ///< `low` to `high`
        hex,           ///< 0 to `high`, also as a text such as "0x1F"
        number,        ///< `least` to `most`
        quantity,      ///< a text with a number and one of `words` as its unit
        any_quantity,  ///< a quantity of whatever kind, or a plain number
        texts,         ///< one text or a list of them, of `words` if there are any
        integers,      ///< a list of whole numbers of `low` to `high`
        list,          ///< a list that its reader takes apart
        choice,        ///< one of `words`
        pattern,       ///< a text that fits `words.front()`, a regular expression of ECMA-262
        table,
        tables,      ///< [[key]]
        free_table,  ///< a table whose keys are names that the file gives
    };
    Kind kind = Kind::named;
    std::int64_t low = 0;
    std::uint64_t high = 0;
    double least = 0.0, most = 0.0;
    std::vector<std::string> words{};
    bool above_zero = false;   ///< of a quantity: 0 is refused
    std::int64_t largest = 0;  ///< of a quantity, in its smallest unit; 0: nothing said

    static KeyShape of(Kind kind) { return {.kind = kind}; }
    static KeyShape integers(std::int64_t low, std::int64_t high) {
        return {.kind = Kind::integers, .low = low, .high = static_cast<std::uint64_t>(high)};
    }
    static KeyShape integer(std::int64_t low, std::int64_t high) {
        return {.kind = Kind::integer, .low = low, .high = static_cast<std::uint64_t>(high)};
    }
    static KeyShape number(double least, double most) { return {.kind = Kind::number, .least = least, .most = most}; }
    static KeyShape quantity(std::span<const Unit> units, bool above_zero, std::int64_t largest);
    static KeyShape pattern(std::string expression) {
        return {.kind = Kind::pattern, .words = {std::move(expression)}};
    }
    template <class Words>
    static KeyShape choice(const Words& words) {
        return {.kind = Kind::choice, .words = {std::begin(words), std::end(words)}};
    }
    template <class Words>
    static KeyShape texts(const Words& words) {
        return {.kind = Kind::texts, .words = {std::begin(words), std::end(words)}};
    }
};

/// Who listens.
class KeyEars {
  public:
    virtual ~KeyEars() = default;
    /// `path`: the dotted key with its indices, "fault[3].at"; asked for whether it is there or not.
    virtual void asked(const std::string& path, const KeyShape& shape) = 0;

  protected:
    KeyEars() = default;
    KeyEars(const KeyEars&) = default;
    KeyEars& operator=(const KeyEars&) = default;
    KeyEars(KeyEars&&) = default;
    KeyEars& operator=(KeyEars&&) = default;
};

/// Passes on what is asked of one tree as it stands in another.
class EarsElsewhere final : public KeyEars {
  public:
    using Paths = std::function<std::vector<std::string>(const std::string&)>;
    /// `to` outlives it, and may be nullptr: then nobody listens.
    EarsElsewhere(KeyEars* to, Paths there) : to_(to), there_(std::move(there)) {}
    void asked(const std::string& path, const KeyShape& shape) override {
        if (to_ == nullptr) return;
        for (const std::string& one : there_(path)) to_->asked(one, shape);
    }

  private:
    KeyEars* to_;
    Paths there_;
};

/// Says what a key holds whose node the reader looks at by itself.
void holds(Section& section, std::string_view key, const KeyShape& shape);
/// Says that the keys of this table are names that the file gives.
void holds_any_name(Section& section);

}  // namespace sim
