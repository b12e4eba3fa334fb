// Any text as a drill beside the shipped ones, and as action cards: refused in one line, or one with all that a drill
// needs.
#include "sim/reading/read_drill.hpp"
#include "tests/fuzz/fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string path = fuzz::source("scenarios/drills/any.toml");
    static const auto cards = sim::read_cards_of(fuzz::source("scenarios/drills"));
    if (!cards) fuzz::broken("the shipped action cards cannot be read");
    const std::string text = fuzz::text_of(data, size);
    const auto drill = sim::drill_in(text, path, cards.value());
    if (drill) {
        if (drill.value().title.empty() || drill.value().needed.empty() || drill.value().evidence.empty())
            fuzz::broken("a drill that lacks something");
        return 0;
    }
    fuzz::expect_one_line(drill.error().one_line());
    const auto any = sim::action_cards_in(text, path);
    if (!any) fuzz::expect_one_line(any.error().one_line());
    return 0;
}
