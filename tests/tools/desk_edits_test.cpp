#include "tools/desk/edits.hpp"

#include <doctest/doctest.h>

#include <random>
#include <string>
#include <vector>

TEST_CASE("edits are undone and done again, each as often as it was made") {
    std::mt19937 random(7);
    const auto below = [&random](std::size_t count) { return static_cast<std::size_t>(random() % count); };
    tools::Edits edits("title = \"a\"\n");
    std::vector<std::string> texts{edits.text()};
    std::size_t at = 0;
    std::uint64_t stamp = edits.stamp();
    CHECK(stamp == 1);
    for (int i = 0; i < 3000; ++i) {
        const std::size_t act = below(4);
        const bool back = act == 0 && at > 0, forth = act == 1 && at + 1 < texts.size();
        if (act == 0) {
            REQUIRE(edits.undo() == back);
            if (back) --at;
        } else if (act == 1) {
            REQUIRE(edits.redo() == forth);
            if (forth) ++at;
        } else {
            std::string text = edits.text();
            const std::size_t from = below(text.size() + 1), gone = below(text.size() - from + 1) % 9;
            text.replace(from, gone, std::string(below(8), static_cast<char>('a' + below(2))));
            if (text != edits.text()) {
                texts.resize(at + 1);
                texts.push_back(text);
                ++at;
            }
            edits.edit(text, std::to_string(i));
        }
        REQUIRE(edits.text() == texts[at]);
        REQUIRE(edits.undo_steps() == at);
        REQUIRE(edits.redo_steps() == texts.size() - 1 - at);
        REQUIRE(edits.stamp() >= stamp);
        stamp = edits.stamp();
    }
    while (edits.undo()) {
    }
    CHECK(edits.text() == texts.front());
    CHECK(edits.undo_words().empty());
    CHECK_FALSE(edits.redo_words().empty());
}

TEST_CASE("the same text is no edit and leaves what can be done again") {
    tools::Edits edits("a");
    edits.edit("b", "watchdog 80 ms");
    CHECK(edits.undo_words() == "watchdog 80 ms");
    CHECK(edits.undo());
    edits.edit("a", "nothing");
    CHECK(edits.redo_words() == "watchdog 80 ms");
    CHECK(edits.redo());
    CHECK(edits.text() == "b");
    CHECK_FALSE(edits.redo());
}
