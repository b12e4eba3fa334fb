// A database that is held in memory.
#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include <doctest/doctest.h>

#include "tools/store/database.hpp"

TEST_CASE("what a file of a database holds is there when its bytes are opened, and can be added to") {
    const auto path = std::filesystem::temp_directory_path() / "linkdrill_database_test.sqlite";
    std::filesystem::remove(path);
    {
        tools::Database file(path.string());
        REQUIRE(file.run("CREATE TABLE press (stroke INTEGER); INSERT INTO press VALUES (41)"));
    }
    std::ifstream in(path, std::ios::binary);
    const std::vector<char> bytes{std::istreambuf_iterator<char>(in), {}};
    std::filesystem::remove(path);
    tools::Database held({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
    CHECK(held.number("SELECT sum(stroke) FROM press") == 41);
    CHECK(held.run("INSERT INTO press VALUES (1)"));
    CHECK(held.number("SELECT sum(stroke) FROM press") == 42);
}

TEST_CASE("bytes that are no database are damaged, and none at all an empty one") {
    const std::array<std::uint8_t, 600> any{1, 2, 3};
    tools::Database damaged(any);
    CHECK_FALSE(damaged.number("SELECT count(*) FROM sqlite_master"));
    CHECK(damaged.problem() == tools::DatabaseProblem::damaged);
    tools::Database empty(std::span<const std::uint8_t>{});
    CHECK(empty.number("SELECT count(*) FROM sqlite_master") == 0);
}
