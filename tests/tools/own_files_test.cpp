// Where linkdrill's own files are looked for, and how a worked line names them.
#include "tools/program/own_files.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>

namespace {

namespace fs = std::filesystem;

const std::string source = LINKDRILL_SOURCE_DIR;

/// $LINKDRILL_DATA while one lives.
struct Variable {
    explicit Variable(const std::string& value) { ::setenv("LINKDRILL_DATA", value.c_str(), 1); }
    ~Variable() { ::unsetenv("LINKDRILL_DATA"); }
    Variable(const Variable&) = delete;
    Variable& operator=(const Variable&) = delete;
};

/// Stands in another folder while one lives.
struct Standing {
    fs::path before = fs::current_path();
    explicit Standing(const fs::path& folder) { fs::current_path(folder); }
    ~Standing() { fs::current_path(before); }
    Standing(const Standing&) = delete;
    Standing& operator=(const Standing&) = delete;
};

}  // namespace

TEST_CASE("the variable decides where own files are, if it names any") {
    {
        const Variable variable(source);
        CHECK(tools::own_files().value() == source);
    }
    {
        const Variable variable(source + "/proto");
        const auto found = tools::own_files();
        REQUIRE(!found);
        CHECK(found.error().status == tools::Status::bad_input);
        CHECK(found.error().one_line().find("LINKDRILL_DATA: holds no folder scenarios") != std::string::npos);
    }
    const Variable variable("");
    CHECK(tools::own_files().ok());
}

TEST_CASE("a worked line names files that are there") {
    const std::string line = "linkdrill  check scenarios/glass_table/worn_cable.toml --all";
    const Variable variable(source);
    {
        const Standing standing(source);
        CHECK(tools::example_here(line) == line);
    }
    const Standing standing("/");
    CHECK(tools::example_here(line) == "linkdrill  check " + source + "/scenarios/glass_table/worn_cable.toml --all");
    CHECK(tools::example_here("linkdrill run scenarios/none.toml") == "linkdrill run FILE");
    CHECK(tools::example_here("linkdrill crc --list") == "linkdrill crc --list");
    CHECK(tools::example_here("").empty());
}
