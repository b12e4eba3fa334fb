#include "tools/program/own_files.hpp"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <system_error>

#include "sim/reading/shipped.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

constexpr const char* variable = "LINKDRILL_DATA";

bool holds_scenarios(const fs::path& folder) {
    std::error_code error;
    return fs::is_directory(folder / "scenarios", error);
}

std::string beside_the_program() {
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    if (error) return {};
    for (const char* step : {"../share/linkdrill", ".."})
        if (const fs::path folder = (program.parent_path() / step).lexically_normal(); holds_scenarios(folder))
            return folder.string();
    return {};
}

/// A word of a worked line that names a shipped file, as it is to be named here.
std::string word_here(const std::string& word, const std::string& own) {
    std::error_code error;
    if (fs::exists(word, error)) return word;
    const fs::path file = fs::path(own) / word;
    return !own.empty() && fs::exists(file, error) ? shell_word(file.string()) : "FILE";
}

}  // namespace

proto::Result<std::string, Failure> own_files() {
    const char* said = std::getenv(variable);
    if (said == nullptr || *said == '\0') return beside_the_program();
    if (holds_scenarios(said)) return std::string(said);
    return Failure{Status::bad_input, said, 0, variable,
                   "holds no folder scenarios; unset it, or name the folder share/linkdrill of an installation"};
}

proto::Result<std::string, Failure> shipped_folder(const std::string& name) {
    const auto own = own_files();
    if (!own) return own.error();
    if (!own.value().empty()) return own.value() + "/scenarios" + (name.empty() ? "" : "/" + name);
    return Failure{Status::bad_input,
                   {},
                   0,
                   {},
                   "its scenarios are not where they were installed; name their folder in LINKDRILL_DATA"};
}

proto::Result<std::string, Failure> tell_readers_of_own_files() {
    auto own = own_files();
    if (own && !own.value().empty()) sim::set_shipped_scenarios((fs::path(own.value()) / "scenarios").string());
    return own;
}

std::string example_here(std::string_view example) {
    constexpr std::string_view shipped = "scenarios/";
    const auto own = own_files();
    std::string line;
    while (!example.empty()) {
        const std::size_t end = std::min(example.find(' '), example.size());
        const std::string word(example.substr(0, end));
        line += word.starts_with(shipped) ? word_here(word, own ? own.value() : std::string()) : word;
        example.remove_prefix(end);
        const std::size_t blanks = std::min(example.find_first_not_of(' '), example.size());
        line += example.substr(0, blanks);
        example.remove_prefix(blanks);
    }
    return line;
}

}  // namespace tools
