// What ships as an example is a plant of our own: no figure and no word that stands for one well-known kind of cell.
#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/support/scenarios.hpp"

namespace {

std::string lower_text_of(const std::filesystem::path& file) {
    std::ifstream in(file);
    std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
    return text;
}

TEST_CASE("no shipped file holds words or figures of another trade's standard cell") {
    unsigned files = 0;
    for (const auto& entry :
         std::filesystem::recursive_directory_iterator(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios")) {
        if (!entry.is_regular_file()) continue;
        ++files;
        const std::string text = lower_text_of(entry.path());
        for (const char* refused : {"250 mm/s", "scanner", "robot"}) {
            CAPTURE(entry.path().string());
            CAPTURE(refused);
            CHECK(text.find(refused) == std::string::npos);
        }
    }
    CHECK(files > 50);
}

TEST_CASE("every shipped plant with a machine states what each of its guards must do") {
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        CAPTURE(file);
        const auto read = sim::read_scenario(file);
        REQUIRE(read.ok());
        const sim::Scenario& scenario = read.value();
        if (!scenario.machine) continue;
        for (const sim::Safeguard& guard : scenario.safeguards) {
            CAPTURE(guard.name);
            const bool stated = std::any_of(
                scenario.functions.begin(), scenario.functions.end(), [&](const sim::SafetyFunction& function) {
                    return std::find(function.safeguards.begin(), function.safeguards.end(), guard.name) !=
                           function.safeguards.end();
                });
            CHECK(stated != !guard.no_function.empty());
        }
    }
}

}  // namespace
