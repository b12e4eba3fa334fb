#include "tools/program/command_line.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <deque>
#include <set>

#include "sim/scenario/nearest.hpp"
#include "tools/program/own_files.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

const OptionSpec* find_option(const std::vector<OptionSpec>& options, std::string_view typed) {
    const std::string_view name = typed.substr(0, typed.find('='));
    for (const OptionSpec& option : options)
        if (option.name == name) return &option;
    return nullptr;
}

/// The first word that is neither an option nor an option's value, as an index in `typed`, or typed.size(). The library
/// reports an unknown command only as "extra arguments", so the command is looked for here.
std::size_t place_of_command(std::span<const std::string> typed) {
    for (std::size_t i = 0; i < typed.size(); ++i) {
        if (typed[i].empty() || typed[i].front() != '-') return i;
        const OptionSpec* option = find_option(common_options(), typed[i]);
        const bool value_follows = option && !option->value.empty() && typed[i].find('=') == std::string::npos;
        if (value_follows) ++i;
    }
    return typed.size();
}

Failure unknown_command(const std::string& word) {
    std::vector<std::string> names;
    for (const Command& command : commands()) names.emplace_back(command.name);
    return usage({}, "unknown command " + in_quotes(word.substr(0, 60)) + "; did you mean " +
                         in_quotes(names[sim::nearest_of(word.substr(0, 60), names)]) +
                         "? All commands: linkdrill --help");
}

Failure unknown_option(const std::string& word, const Command* command) {
    std::vector<std::string> names{"--help"};
    for (const OptionSpec& option : command ? common_options_of(*command) : common_options())
        names.emplace_back(option.name);
    if (command)
        for (const OptionSpec& option : command->options) names.emplace_back(option.name);
    const std::string name = word.substr(0, std::min<std::size_t>(word.find('='), 60));
    if (command && find_option(common_options(), name) != nullptr)
        return usage(name, "does nothing in " + std::string(command->name) + "; leave it out");
    return usage({}, "unknown option " + in_quotes(name) + (command ? " of " + std::string(command->name) : "") +
                         "; did you mean " + in_quotes(names[sim::nearest_of(name, names)]) + "?");
}

constexpr int most_values = 100'000;

/// Where the library puts what it read. Deques: the addresses stay.
struct Slots {
    struct Slot {
        std::string name, value;
        std::vector<std::string> values;  ///< of an option of many
        bool many = false;
        CLI::Option* option = nullptr;
    };
    std::deque<Slot> all;

    void add(CLI::App& app, const OptionSpec& spec) {
        Slot& slot = all.emplace_back(Slot{std::string(spec.name), {}, {}, false, nullptr});
        slot.many = spec.values == OptionSpec::Values::many;
        slot.option = slot.many            ? app.add_option(slot.name, slot.values)->expected(1, most_values)
                      : spec.value.empty() ? app.add_flag(slot.name)->disable_flag_override()
                                           : app.add_option(slot.name, slot.value)->expected(1);
    }
    void add(CLI::App& app, const PositionalSpec& spec) {
        if (spec.name.empty()) return;
        Slot& slot = all.emplace_back(Slot{std::string(spec.name), {}, {}, false, nullptr});
        slot.many = spec.values == OptionSpec::Values::many;
        slot.option = slot.many ? app.add_option(slot.name, slot.values)->expected(1, most_values)
                                : app.add_option(slot.name, slot.value)->expected(1);
    }
};

/// The parsing library's complaint in our words. `typed` is without the command.
Failure failure_of(const CLI::ParseError& error, const CLI::App& app, const Command& command,
                   std::span<const std::string> typed) {
    const std::vector<std::string> left = app.remaining(true);
    if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr && !left.empty()) {
        const std::string& word = left.front();
        if (word.size() > 1 && word.front() == '-') return unknown_option(word, &command);
        return usage({}, in_quotes(word.substr(0, 60)) + " is one argument too many; write linkdrill " +
                             std::string(command.name) + (command.positional.name.empty() ? "" : " ") +
                             std::string(command.positional.name) + ", names with blanks in quotes");
    }
    // The library's text for the rest names its own types, so the cause is looked for here.
    std::set<std::string_view> seen;
    for (std::size_t i = 0; i < typed.size() && typed[i] != "--"; ++i) {
        const OptionSpec* option = find_option(common_options(), typed[i]);
        if (!option) option = find_option(command.options, typed[i]);
        if (!option) continue;
        const std::string name(option->name);
        const bool with_value = typed[i].find('=') != std::string::npos;
        if (option->value.empty()) {
            if (with_value) return usage(name, "takes no value; write " + name + " alone");
            continue;
        }
        if (!seen.insert(option->name).second) return usage(name, "typed twice; write it once");
        if (!with_value && ++i >= typed.size())
            return usage(name, "its value is missing; write " + name + " " + std::string(option->value));
    }
    return usage({}, on_one_line(error.what()) + "; see linkdrill " + std::string(command.name) + " --help");
}

}  // namespace

proto::Result<Wanted, Failure> read_command_line(std::span<const std::string> typed) {
    if (typed.empty()) return Wanted{Nothing{}};

    const std::size_t place = place_of_command(typed);
    const Command* command = place < typed.size() ? find_command(typed[place]) : nullptr;
    const auto asks_for = [&](std::string_view word) {
        const auto end = std::find(typed.begin(), typed.end(), "--");
        return std::find(typed.begin(), end, word) != end;
    };
    if (place < typed.size() && command == nullptr) return unknown_command(typed[place]);
    if (asks_for("--help") || asks_for("-h")) return Wanted{ShowHelp{command}};
    if (command == nullptr) {
        if (asks_for("--version") || asks_for("-V")) return Wanted{ShowVersion{}};
        for (const std::string& word : typed)
            if (!find_option(common_options(), word)) return unknown_option(word, nullptr);
        return usage({}, "no command; write one after the options, all of them: linkdrill --help");
    }

    CLI::App app;
    app.set_help_flag("");
    Slots slots;
    slots.add(app, command->positional);
    for (const OptionSpec& option : common_options_of(*command)) slots.add(app, option);
    for (const OptionSpec& option : command->options) slots.add(app, option);

    // The library takes its arguments from the back.
    std::vector<std::string> without_command(typed.begin(), typed.end());
    without_command.erase(without_command.begin() + static_cast<std::ptrdiff_t>(place));
    try {
        app.parse(std::vector<std::string>(without_command.rbegin(), without_command.rend()));
    } catch (const CLI::ParseError& error) {
        return failure_of(error, app, *command, without_command);
    }

    RunCommand out{command, {}};
    for (const Slots::Slot& slot : slots.all)
        if (slot.option->count() == 0)
            continue;
        else if (slot.many)
            out.arguments.set_many(slot.name, slot.values);
        else
            out.arguments.set(slot.name, slot.value);
    const PositionalSpec& positional = command->positional;
    const bool missing = !positional.name.empty() && positional.need == PositionalSpec::Need::required &&
                         !out.arguments.has(positional.name);
    if (missing)
        return usage({}, std::string(positional.name) + " is missing; for example: " + example_here(command->example));
    return Wanted{std::move(out)};
}

}  // namespace tools
