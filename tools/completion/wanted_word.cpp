#include "tools/completion/wanted_word.hpp"

namespace tools {
namespace {

using Kind = WantedWord::Kind;

std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        if (end > 0) words.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return words;
}

}  // namespace

WantedWord wanted_word(const OptionSpec& option) {
    if (!option.choices.empty()) return {Kind::words, words_of(option.choices)};
    if (option.value == "DIR") return {Kind::folder};
    if (option.name == "--profile") return {Kind::file, {}, {"toml"}};
    if (option.value.starts_with("FILE")) return {Kind::file};
    return {};
}

WantedWord wanted_word(const PositionalSpec& positional) {
    if (!positional.choices.empty()) return {Kind::words, words_of(positional.choices)};
    if (positional.name == "COMMAND") {
        WantedWord wanted{Kind::words};
        for (const Command& command : commands()) wanted.words.emplace_back(command.name);
        return wanted;
    }
    if (positional.name == "DIR" || positional.name == "FOLDER") return {Kind::folder};
    if (positional.name == "CAPTURE") return {Kind::file, {}, {"pcapng", "pcap"}};
    if (positional.name == "FILE" || positional.name == "PROFILE") return {Kind::file, {}, {"toml"}};
    return {};
}

std::vector<OptionSpec> offered_options(const Command& command) {
    std::vector<OptionSpec> options = command.options;
    for (const OptionSpec& option : common_options_of(command)) options.push_back(option);
    options.push_back({"--help", "", "tell what the command does and takes"});
    return options;
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? std::string() : std::string(between)) + word;
    return text;
}

std::string escaped(std::string_view text, std::string_view special) {
    std::string out;
    for (const char c : text) {
        if (special.find(c) != std::string_view::npos) out += '\\';
        out += c;
    }
    return out;
}

}  // namespace tools
