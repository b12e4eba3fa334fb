// Every value of every shipped file is typed anew, put in, taken out: only its bytes change, it reads back as meant,
// and the way back gives the file byte for byte.
#include <doctest/doctest.h>

#include <array>
#include <string>
#include <vector>

#include "sim/reading/patch.hpp"
#include "sim/reading/tree_edits.hpp"
#include "tests/sim/reading/shipped_texts.hpp"

namespace {

using namespace patched;
using Kind = sim::WrittenPart::Kind;

sim::WrittenFile written(const std::string& text) {
    auto file = sim::WrittenFile::of(text, "plant.toml");
    REQUIRE_MESSAGE(file.ok(), file.error().one_line());
    return std::move(file).value();
}

/// A value of the same kind that is another one.
std::string another(const sim::Node& node) {
    switch (node.kind) {
        case sim::Node::Kind::text: return node.text == "80 ms" ? "\"81 ms\"" : "\"80 ms\"";
        case sim::Node::Kind::integer: return node.integer == 23 && node.by_16 ? "0x18" : "0x17";
        case sim::Node::Kind::number: return "0.125e-3";
        case sim::Node::Kind::boolean: return node.boolean ? "false" : "true";
        case sim::Node::Kind::array: return "[\n  1, # \xC3\xBC\n  2\n]";
        default: return "{ q = [ \"}\" ] }";
    }
}

void type_every_value_anew(const std::string& text) {
    const sim::WrittenFile file = written(text);
    std::size_t values = 0;
    for (std::size_t part = 1; part < file.parts().size(); ++part) {
        const sim::Stretch stretch = file.parts()[part].value;
        if (stretch.size() == 0) continue;
        const std::string path = path_of(file.parts(), part), old = slice(text, stretch);
        CAPTURE(path);
        const auto there = sim::value_at(file, path);
        REQUIRE(there.has_value());
        REQUIRE(there->written == old);
        REQUIRE(there->node != nullptr);
        const std::string typed = another(*there->node);
        const auto edited = sim::with_value(file, path, typed);
        REQUIRE_MESSAGE(edited.ok(), edited.error().one_line());
        REQUIRE(edited.value() == text.substr(0, stretch.begin) + typed + text.substr(stretch.end));
        const sim::WrittenFile again = written(edited.value());
        REQUIRE(sim::value_at(again, path)->written == typed);
        const auto back = sim::with_value(again, path, old);
        REQUIRE_MESSAGE(back.ok(), back.error().one_line());
        REQUIRE(back.value() == text);
        ++values;
    }
    REQUIRE(values > 0);
}

/// Whether the lines of one are lines of the other, in that order.
bool lines_among(const std::string& some, const std::string& all) {
    std::size_t at = 0;
    for (std::size_t begin = 0; begin < some.size();) {
        const std::size_t end = std::min(some.find('\n', begin), some.size() - 1) + 1;
        const std::string line = some.substr(begin, end - begin);
        for (;; at = std::min(all.find('\n', at), all.size() - 1) + 1) {
            if (at >= all.size()) return false;
            if (all.compare(at, line.size(), line) == 0) break;
        }
        at += line.size();
        begin = end;
    }
    return true;
}

bool is_line(const sim::WrittenPart& part) { return part.header != sim::WrittenPart::none && part.value.size() > 0; }

}  // namespace

TEST_CASE("each value of each shipped file is typed anew and back") {
    for (const ShippedText& shipped : shipped_texts()) {
        CAPTURE(shipped.name);
        type_every_value_anew(shipped.text);
    }
}

TEST_CASE("the same with carriage returns, a mark in front, and letters of several bytes") {
    for (const ShippedText& shipped : shipped_texts()) {
        CAPTURE(shipped.name);
        const std::string longer = with_long_letters(shipped.text);
        REQUIRE(longer.find("\xF0\x9F\x98\x80") != std::string::npos);
        type_every_value_anew(with_mark(with_carriage_returns(longer)));
    }
    for (const char* one : {"scenarios/glass_line/cell.toml", "scenarios/log_debarker/guards.toml"})
        for (const ShippedText& shipped : shipped_texts()) {
            if (shipped.name != one) continue;
            type_every_value_anew(with_carriage_returns(shipped.text));
            type_every_value_anew(with_mark(shipped.text));
            type_every_value_anew(with_long_letters(shipped.text));
        }
}

TEST_CASE("each key of each shipped file is taken out, put in and taken out again") {
    std::size_t keys = 0;
    for (const ShippedText& shipped : shipped_texts()) {
        for (const std::string& text : {shipped.text, with_mark(with_carriage_returns(shipped.text))}) {
            const sim::WrittenFile file = written(text);
            for (std::size_t part = 1; part < file.parts().size(); ++part) {
                const sim::WrittenPart& one = file.parts()[part];
                if (one.value.size() == 0 || one.key.empty()) continue;
                const std::string path = path_of(file.parts(), part);
                CAPTURE(shipped.name);
                CAPTURE(path);
                const auto less = sim::without(file, path);
                REQUIRE_MESSAGE(less.ok(), less.error().one_line());
                if (is_line(one)) REQUIRE(lines_among(less.value(), text));
                const auto more = sim::with_value(written(less.value()), path, slice(text, one.value));
                REQUIRE_MESSAGE(more.ok(), more.error().one_line());
                const sim::WrittenFile again = written(more.value());
                REQUIRE(sim::same_tree(again.tree(), file.tree()));
                const auto less_again = sim::without(again, path);
                REQUIRE(less_again.ok());
                REQUIRE(less_again.value() == less.value());
                ++keys;
            }
        }
    }
    CHECK(keys > 5000);
}

TEST_CASE("a key more in each table of each shipped file, and out again") {
    for (const ShippedText& shipped : shipped_texts()) {
        const sim::WrittenFile file = written(shipped.text);
        for (std::size_t part = 0; part < file.parts().size(); ++part) {
            const sim::WrittenPart& one = file.parts()[part];
            if (one.kind != Kind::table && (one.kind != Kind::inline_table || one.below.empty())) continue;
            const std::string above = path_of(file.parts(), part);
            for (const char* key : {"aaa_more", "\"more \xC3\xBC\"", "name", "delay", "network.ip"}) {
                const std::string path = above + (above.empty() ? "" : ".") + key;
                CAPTURE(shipped.name);
                CAPTURE(path);
                if (sim::value_at(file, path)) continue;
                const auto more = sim::with_value(file, path, "\"80 ms\"");
                if (std::string(key) == "network.ip" && !more.ok()) continue;
                REQUIRE_MESSAGE(more.ok(), more.error().one_line());
                REQUIRE(sim::value_at(written(more.value()), path).has_value());
                const auto back = sim::without(written(more.value()), path);
                REQUIRE_MESSAGE(back.ok(), back.error().one_line());
                REQUIRE(back.value() == shipped.text);
            }
        }
    }
}

TEST_CASE("each table and block of each shipped file is taken out with all below it") {
    for (const ShippedText& shipped : shipped_texts()) {
        for (const std::string& text : {shipped.text, with_mark(with_carriage_returns(shipped.text))}) {
            const sim::WrittenFile file = written(text);
            for (std::size_t part = 1; part < file.parts().size(); ++part) {
                const sim::WrittenPart& one = file.parts()[part];
                if (one.kind != Kind::table && one.kind != Kind::blocks) continue;
                if (one.kind == Kind::table && one.statement.size() == 0) continue;
                const std::string path = path_of(file.parts(), part);
                CAPTURE(shipped.name);
                CAPTURE(path);
                const auto less = sim::without(file, path);
                if (file.tree().members.size() == 1 && one.above == 0) {
                    CHECK(!less.ok());
                    continue;
                }
                REQUIRE_MESSAGE(less.ok(), less.error().one_line());
                REQUIRE(lines_among(less.value(), text));
                REQUIRE(less.value().find("\n\n\n") == std::string::npos);
                REQUIRE(less.value().find("\n\r\n\r\n") == std::string::npos);
            }
        }
    }
}

TEST_CASE("faults, demands and acts of each shipped file are replaced") {
    constexpr std::array<std::string_view, 3> kinds{"fault", "demand", "operator"};
    const std::string blocks =
        "\n[[demand]]\nsafeguard = \"g\"   # \xC3\xBC\nat = \"1 s\"\n\n# struck\n[[fault]]\nway = \"drop\"\n"
        "[fault.expect]\noutcome = \"tolerated\"\n\n";
    for (const ShippedText& shipped : shipped_texts()) {
        CAPTURE(shipped.name);
        const sim::WrittenFile file = written(shipped.text);
        const auto replaced = sim::with_blocks(file, kinds, blocks);
        REQUIRE_MESSAGE(replaced.ok(), replaced.error().one_line());
        REQUIRE(replaced.value().find(blocks.substr(1, blocks.size() - 2)) != std::string::npos);
        const sim::WrittenFile again = written(replaced.value());
        CHECK(again.tree().find("fault")->items.size() == 1);
        CHECK(again.tree().find("operator") == nullptr);
        const auto none = sim::with_blocks(file, kinds, "");
        REQUIRE_MESSAGE(none.ok(), none.error().one_line());
        REQUIRE(lines_among(none.value(), shipped.text));
        const auto none_again = sim::with_blocks(again, kinds, "\n");
        REQUIRE(none_again.ok());
        CHECK(none_again.value() == none.value());
    }
}
