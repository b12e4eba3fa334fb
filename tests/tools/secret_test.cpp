// Secrets are of the signs asked for, all alike likely, and never the same.
#include <doctest/doctest.h>

#include <array>
#include <set>

#include "tools/program/secret.hpp"

TEST_CASE("secrets are of their alphabet, each sign as likely, and differ") {
    std::set<std::string> seen;
    std::array<unsigned, 26> count{};
    for (int i = 0; i < 1000; ++i) {
        const std::string text = tools::secret_text("ACDEFGHJKLMNPQRTUVWXY34679", 26);
        CHECK(text.size() == 26);
        CHECK(seen.insert(text).second);
        for (const char sign : text) {
            const auto place = std::string_view("ACDEFGHJKLMNPQRTUVWXY34679").find(sign);
            REQUIRE(place != std::string_view::npos);
            ++count[place];
        }
    }
    // 1000 of each are expected, with a deviation of 31: eight of them are never met
    for (const unsigned of_sign : count) {
        CHECK(of_sign > 750);
        CHECK(of_sign < 1250);
    }
    CHECK(tools::secret_number() != tools::secret_number());
}
