// Files that come with the program, for whatever is not found where somebody stands.
#include "sim/reading/shipped.hpp"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

namespace fs = std::filesystem;

const std::string source = LINKDRILL_SOURCE_DIR;

/// The shipped scenarios are those of the sources while one lives.
struct Shipped {
    Shipped() { sim::set_shipped_scenarios(source + "/scenarios"); }
    ~Shipped() { sim::set_shipped_scenarios({}); }
    Shipped(const Shipped&) = delete;
    Shipped& operator=(const Shipped&) = delete;
};

/// A copy of a shipped scenario in a folder without profiles.
struct Alone {
    fs::path folder = fs::temp_directory_path() / ("linkdrill-alone-" + std::to_string(::getpid()));
    Alone() {
        fs::create_directories(folder);
        fs::copy_file(source + "/scenarios/veneer_press/all_errors.toml", file());
    }
    ~Alone() { fs::remove_all(folder); }
    Alone(const Alone&) = delete;
    Alone& operator=(const Alone&) = delete;
    [[nodiscard]] fs::path file() const { return folder / "alone.toml"; }
};

}  // namespace

TEST_CASE("a profile that is nowhere near a scenario is the shipped one, and one near it comes first") {
    const Alone alone;
    const auto without = sim::read_scenario(alone.file().string());
    REQUIRE(!without);
    CHECK(without.error().message.find("is no profile") != std::string::npos);

    const Shipped shipped;
    const auto with = sim::read_scenario(alone.file().string());
    REQUIRE(with.ok());
    CHECK(with.value().controller.link.profile.payload_bytes == with.value().device.link.profile.payload_bytes);

    fs::create_directory(alone.folder / "profiles");
    fs::copy_file(source + "/scenarios/profiles/crc24_implied.toml", alone.folder / "profiles/crc32_carried.toml");
    const auto nearer = sim::read_scenario(alone.file().string());
    REQUIRE(nearer.ok());
    CHECK(nearer.value().controller.link.profile.crc->width == 24);
}

TEST_CASE("a shipped file is named as somebody who stands here finds it") {
    CHECK(sim::shipped_file("README.md") == "scenarios/README.md");
    const Shipped shipped;
    const fs::path stood = fs::current_path();
    const Alone alone;
    fs::current_path(alone.folder);
    CHECK(sim::shipped_file("README.md") == source + "/scenarios/README.md");
    fs::create_directory("scenarios");
    CHECK(sim::shipped_file("README.md") == source + "/scenarios/README.md");
    fs::copy_file(source + "/scenarios/README.md", "scenarios/README.md");
    CHECK(sim::shipped_file("README.md") == "scenarios/README.md");
    fs::current_path(stood);
}
