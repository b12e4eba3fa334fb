#include "tools/program/arguments.hpp"

#include <charconv>

#include "tools/text/text.hpp"

namespace tools {
namespace {

/// All of `text` as a number; nothing if there is anything else in it, a sign included.
std::optional<std::uint64_t> whole_number(std::string_view text, int base) {
    std::uint64_t number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number, base);
    if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return number;
}

}  // namespace

std::optional<std::string> Arguments::value(std::string_view name) const {
    const auto found = values_.find(name);
    if (found == values_.end()) return std::nullopt;
    return found->second;
}

std::vector<std::string> Arguments::values(std::string_view name) const {
    const auto found = lists_.find(name);
    return found == lists_.end() ? std::vector<std::string>{} : found->second;
}

void Arguments::set_many(std::string name, std::vector<std::string> values) {
    values_[name] = values.empty() ? std::string() : values.front();
    lists_[std::move(name)] = std::move(values);
}

proto::Result<std::optional<std::uint64_t>, Failure> Arguments::number(std::string_view name, std::uint64_t least,
                                                                       std::uint64_t most) const {
    const std::optional<std::string> typed = value(name);
    if (!typed) return std::optional<std::uint64_t>{};
    const std::optional<std::uint64_t> number = whole_number(*typed, 10);
    if (!number || *number < least || *number > most) {
        return usage(std::string(name), in_quotes(*typed) + " is no number of this range; write a whole number, " +
                                            std::to_string(least) + " to " + std::to_string(most));
    }
    return number;
}

proto::Result<std::optional<std::uint64_t>, Failure> Arguments::hex_number(std::string_view name) const {
    const std::optional<std::string> typed = value(name);
    if (!typed) return std::optional<std::uint64_t>{};
    const bool marked = typed->starts_with("0x") || typed->starts_with("0X");
    const std::optional<std::uint64_t> number =
        marked ? whole_number(std::string_view(*typed).substr(2), 16) : std::nullopt;
    if (!number)
        return usage(std::string(name), in_quotes(*typed) + " is no hex number of up to 64 bits; write it as 0x1021");
    return number;
}

const std::vector<OptionSpec>& common_options() {
    static const std::vector<OptionSpec> options{
        {"--json", "", "print one JSON document and nothing else"},
        {"--seed", "N", "seed of every draw; without it the scenario's own"},
        {"--out", "DIR", "folder for the evidence; without it linkdrill-out/NAME"},
        {"--jobs", "N", "work on so many processors at once, where a command can; all of them unless said"},
        {"--quiet", "", "print the first sentence of the result only"},
        {"--verbose", "", "tell on standard error what is being done"},
        {"--log", "FILE", "append to FILE what is being done"},
    };
    return options;
}

}  // namespace tools
