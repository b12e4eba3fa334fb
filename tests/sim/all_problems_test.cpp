#include "sim/reading/all_problems.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <utility>
#include <vector>

#include "sim/reading/section.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using Edits = std::vector<std::pair<std::string, std::string>>;

/// The keys of what is wrong with the press after these edits, each of which must find its place.
std::vector<std::string> keys_after(const Edits& edits) {
    const std::string path = std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/veneer_press/all_errors.toml";
    std::ifstream file(path);
    std::string text(std::istreambuf_iterator<char>(file), {});
    for (const auto& [from, to] : edits) {
        const std::size_t at = text.find(from);
        REQUIRE(at != std::string::npos);
        text.replace(at, from.size(), to);
    }
    std::vector<std::string> keys;
    for (const sim::FileError& one : sim::all_problems_in(text, path)) keys.push_back(one.key);
    const auto read = sim::scenario_in(text, path);
    CHECK(read.ok() == keys.empty());
    if (!read) CHECK(std::find(keys.begin(), keys.end(), read.error().key) != keys.end());
    return keys;
}

}  // namespace

TEST_CASE("all problems: none in a file that is right, each in one that is not, by lines") {
    CHECK(keys_after({}).empty());
    CHECK(keys_after({{"cycle = ", "cycel = "}, {"seed = ", "sead = "}, {"braking = \"", "braking = \"x"}}) ==
          std::vector<std::string>{"sead", "link.cycel", "machine.braking"});
}

TEST_CASE("all problems: what follows from another one is not told") {
    CHECK(keys_after({{"[link]", "[lnk]"}}) == std::vector<std::string>{"lnk"});
    CHECK(keys_after({{"[machine]", "[machnie]"}}).front() == "machnie");
    CHECK(keys_after({{"duration = ", "duraton = "}}) == std::vector<std::string>{"duraton"});
}

TEST_CASE("problems: one a key, a hundred at most, and what is in doubt") {
    sim::Problems problems("file.toml");
    CHECK_FALSE(problems.in_doubt({"signal"}));
    problems.say({3, "signal[2].name"}, "first");
    problems.say({3, "signal[2].name"}, "second");
    CHECK(problems.all().size() == 1);
    CHECK(problems.first().message == "first");
    CHECK(problems.wrong("signal[2]"));
    CHECK_FALSE(problems.wrong("signal[21]"));
    CHECK_FALSE(problems.wrong("signal[1]"));
    CHECK(problems.in_doubt({"signal.name"}));
    CHECK(problems.in_doubt({"signal"}));
    CHECK_FALSE(problems.in_doubt({"signal.direction", "link"}));
    problems.doubt("controller");
    CHECK(problems.in_doubt({"link"}));
    for (int i = 0; i < 300; ++i) problems.say({i + 10, "k" + std::to_string(i)}, "more");
    CHECK(problems.all().size() == 100);
    CHECK(problems.wrong("nobody knows any more"));
}
