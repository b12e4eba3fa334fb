#pragma once
// What was typed, as text; each command turns its own values into numbers, so that no value changes silently.
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// One option of a command. Without `value` it is a switch.
struct OptionSpec {
    std::string_view name;   ///< "--seed"
    std::string_view value;  ///< how the help calls its value: "N"; empty: a switch
    std::string_view help;
    enum class Values : std::uint8_t { one, many } values = Values::one;  ///< many: of several words, see Arguments
    std::string_view choices = {};  ///< the words that it may be, with blanks between them; empty: not a choice
};

/// The place of an argument without a name.
struct PositionalSpec {
    std::string_view name;  ///< "FILE"; empty: the command takes none
    std::string_view help;
    enum class Need : std::uint8_t { required, optional } need = Need::required;
    std::string_view choices = {};                        ///< as of an option
    OptionSpec::Values values = OptionSpec::Values::one;  ///< many: "FILE..."
    std::string_view places = {};                         ///< of many: what each is, "TEMPLATE FILE", in place of that
    [[nodiscard]] std::string shown() const {
        if (!places.empty()) return std::string(places);
        return std::string(name) + (values == OptionSpec::Values::many ? "..." : "");
    }
};

class Arguments {
  public:
    void set(std::string name, std::string value) { values_[std::move(name)] = std::move(value); }
    void set_many(std::string name, std::vector<std::string> values);

    /// True if the option was typed.
    [[nodiscard]] bool has(std::string_view name) const { return values_.contains(name); }
    /// What was typed after the option, or for the argument of that name.
    [[nodiscard]] std::optional<std::string> value(std::string_view name) const;
    /// All that was typed after an option of many values, in order.
    [[nodiscard]] std::vector<std::string> values(std::string_view name) const;
    /// The whole number typed, in decimal; nothing if the option was not typed.
    [[nodiscard]] proto::Result<std::optional<std::uint64_t>, Failure> number(std::string_view name,
                                                                              std::uint64_t least,
                                                                              std::uint64_t most) const;
    /// The same for a value in hex with 0x in front, of up to 64 bits.
    [[nodiscard]] proto::Result<std::optional<std::uint64_t>, Failure> hex_number(std::string_view name) const;

  private:
    std::map<std::string, std::string, std::less<>> values_;
    std::map<std::string, std::vector<std::string>, std::less<>> lists_;
};

/// The options that every command takes.
const std::vector<OptionSpec>& common_options();

}  // namespace tools
