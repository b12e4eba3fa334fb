// Any text, and edits of it at its own paths and at others: refused in one line, or only the bytes of the value change,
// what reads back is what was meant, and the way back gives the same text.
#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "sim/reading/patch.hpp"
#include "sim/reading/tree_edits.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

using Answer = proto::Result<std::string, sim::FileError>;

std::string path_of(const sim::WrittenParts& parts, std::size_t part) {
    if (part == 0) return "";
    const sim::WrittenPart& one = parts[part];
    const std::string above = path_of(parts, one.above);
    const sim::WrittenPart& list = parts[one.above];
    if (list.kind == sim::WrittenPart::Kind::blocks || list.kind == sim::WrittenPart::Kind::list) {
        std::size_t place = 0;
        while (list.below[place] != part) ++place;
        return above + "[" + std::to_string(place + 1) + "]";
    }
    return above + (above.empty() ? "" : ".") + sim::key_written(one.key);
}

/// What may be asked of a text that an edit gave.
sim::WrittenFile taken(const Answer& answer) {
    auto file = sim::WrittenFile::of(answer.value(), "edited.toml");
    if (!file) fuzz::broken("an edit gave what does not parse");
    return std::move(file).value();
}

void set(const sim::WrittenFile& file, const std::string& path, const std::string& value) {
    const Answer answer = sim::with_value(file, path, value);
    if (!answer) return fuzz::expect_one_line(answer.error().one_line());
    const sim::WrittenFile edited = taken(answer);
    const auto now = sim::value_at(edited, path), before = sim::value_at(file, path);
    if (!now || now->written != value) fuzz::broken("a value does not stand where it was put");
    if (!before) {
        // a header stays where a comment stands below it
        const Answer back = sim::without(edited, path);
        const bool bare = file.text().find('#') == std::string::npos;
        if (back && bare && taken(back).tree().members.size() > file.tree().members.size())
            fuzz::broken("taken out, more is left than there was");
        return;
    }
    const auto at = static_cast<std::size_t>(before->written.data() - file.text().data());
    std::string meant = file.text();
    meant.replace(at, before->written.size(), value);
    if (answer.value() != meant) fuzz::broken("other bytes than the value's have changed");
    const Answer back = sim::with_value(edited, path, before->written);
    if (back && back.value() != file.text()) fuzz::broken("the way back gives another text");
}

void take(const sim::WrittenFile& file, const std::string& path) {
    const Answer answer = sim::without(file, path);
    if (!answer) return fuzz::expect_one_line(answer.error().one_line());
    const auto steps = sim::path_in(path);
    const bool item = steps && !steps->empty() && steps->back().index > 0;
    const sim::WrittenFile less = taken(answer);
    if (!item && sim::node_at(less.tree(), *steps) != nullptr) fuzz::broken("what was taken out is there");
    if (answer.value().size() >= file.text().size()) fuzz::broken("nothing was taken out");
}

}  // namespace

/// A line with a path, one with a value, and a text.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string bytes = fuzz::text_of(data, size);
    const std::size_t first = std::min(bytes.find('\n'), bytes.size());
    const std::size_t second = std::min(bytes.find('\n', first + 1), bytes.size());
    const std::string path = bytes.substr(0, first),
                      value = bytes.substr(std::min(first + 1, second), second - std::min(first + 1, second));
    const auto read = sim::WrittenFile::of(bytes.substr(std::min(second + 1, bytes.size())), "plant.toml");
    if (!read) {
        fuzz::expect_one_line(read.error().one_line());
        return 0;
    }
    const sim::WrittenFile& file = read.value();
    constexpr std::array<std::string_view, 3> kinds{"fault", "demand", "operator"};
    for (const std::string& blocks : {std::string("[[fault]]\nway = \"drop\"\n"), value}) {
        const Answer answer = sim::with_blocks(file, kinds, blocks);
        if (!answer)
            fuzz::expect_one_line(answer.error().one_line());
        else
            static_cast<void>(taken(answer));
    }
    std::vector<std::string> paths{path};
    constexpr std::size_t paths_most = 12;
    const std::size_t step = 1 + file.parts().size() / paths_most;
    for (std::size_t part = 1; part < file.parts().size(); part += step) paths.push_back(path_of(file.parts(), part));
    for (const std::string& one : paths) {
        const Answer typed = sim::as_toml(file, one, value);
        if (!typed)
            fuzz::expect_one_line(typed.error().one_line());
        else
            set(file, one, typed.value());
        set(file, one, "[ 1, \"\xC3\xBC\" ]");
        set(file, one + ".zzz", "0x17");
        take(file, one);
    }
    return 0;
}
