#pragma once
// A folder for a test of files, gone with it.
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <string>

#include <doctest/doctest.h>

#include "tools/desk/desk_file.hpp"

namespace desk_test {

namespace fs = std::filesystem;

class Folder {
  public:
    Folder() {
        std::string pattern = (fs::temp_directory_path() / "desk-test-XXXXXX").string();
        REQUIRE(::mkdtemp(pattern.data()) != nullptr);
        path_ = pattern;
        fs::create_directory(path_ / "state");
        ::setenv("XDG_STATE_HOME", (path_ / "state").c_str(), 1);
        fs::create_directory(path_ / "plants");
    }
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    [[nodiscard]] fs::path path() const { return path_ / "plants"; }
    [[nodiscard]] fs::path state() const { return path_ / "state" / "linkdrill"; }
    [[nodiscard]] tools::FolderBeneath beneath() const {
        auto opened = tools::FolderBeneath::open(path().string());
        REQUIRE(opened.ok());
        return opened.value();
    }
    void write(const std::string& name, const std::string& text) const {
        std::ofstream(path() / name, std::ios::binary | std::ios::trunc) << text;
    }
    [[nodiscard]] std::string read(const std::string& name) const { return text_of(path() / name); }
    [[nodiscard]] std::set<std::string> names() const { return names_in(path()); }
    static std::set<std::string> names_in(const fs::path& folder) {
        std::set<std::string> names;
        if (fs::exists(folder))
            for (const auto& entry : fs::directory_iterator(folder)) names.insert(entry.path().filename().string());
        return names;
    }
    static std::string text_of(const fs::path& file) {
        std::ifstream in(file, std::ios::binary);
        return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    }

  private:
    fs::path path_;
};

inline tools::DeskFile opened(const Folder& folder, const std::string& name = "a.toml") {
    auto file = tools::DeskFile::open(folder.beneath(), name);
    REQUIRE_MESSAGE(file.ok(), file.error().one_line());
    return std::move(file).value();
}

/// What is said where a file cannot be opened.
inline std::string refusal(const Folder& folder, const std::string& name) {
    const auto file = tools::DeskFile::open(folder.beneath(), name);
    return file ? "opened" : file.error().message;
}

using Saved = tools::DeskFile::Saved;
using Seen = tools::DeskFile::Seen;
using Names = std::set<std::string>;

}  // namespace desk_test
