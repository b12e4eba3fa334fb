#include "tools/examples/templates.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <string_view>
#include <system_error>

#include "tools/examples/copied_file.hpp"
#include "tools/program/own_files.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view schema_line = "#:schema ";

/// A template as it stands in another folder: its first line names the schema where that lies.
std::string with_schema_from(std::string text, const std::string& folder_of_template) {
    if (!text.starts_with(schema_line)) return text;
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::error_code error;
    const fs::path there = fs::path(folder_of_template) / text.substr(schema_line.size(), end - schema_line.size());
    const fs::path whole = fs::absolute(there, error).lexically_normal();
    std::string address = "file://";
    for (const char c : whole.string()) {
        constexpr std::string_view plain = "/-_.~";
        const auto byte = static_cast<unsigned char>(c);
        if (std::isalnum(byte) != 0 || plain.find(c) != std::string_view::npos)
            address += c;
        else
            address += {'%', "0123456789ABCDEF"[byte >> 4U], "0123456789ABCDEF"[byte & 15U]};
    }
    return std::string(schema_line) + address + text.substr(end);
}

}  // namespace

proto::Result<std::vector<std::string>, Failure> names_in(const std::string& folder) {
    std::vector<std::string> names;
    std::error_code error;
    for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error))
        if (entry->path().extension() == ".toml") names.push_back(entry->path().stem().string());
    if (error) return machine_said_no(folder, error.message() + "; check the rights of linkdrill's own files");
    std::sort(names.begin(), names.end());
    return names;
}

proto::Result<std::string, Failure> template_text(const std::string& name) {
    const auto folder = shipped_folder("templates");
    if (!folder) return folder.error();
    auto content = content_of(folder.value() + "/" + name + ".toml");
    if (!content) return content.error();
    return with_schema_from(std::move(content).value(), folder.value());
}

}  // namespace tools
