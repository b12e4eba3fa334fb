#pragma once
// One table of a file while it is read: hands out its keys by type and unit, and remembers which keys it was asked for,
// so that what nobody asked for is an unknown key.
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "proto/time.hpp"
#include "sim/reading/document.hpp"
#include "sim/reading/key_ears.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/units.hpp"

namespace sim {

/// Keeps what is wrong, one thing a key. Readers go on after it with stand-in values, which nobody will see; what can
/// be judged only with the value that was meant is not judged, see in_doubt().
class Problems {
  public:
    explicit Problems(std::string file) : file_(std::move(file)) {}
    void say(const Place& where, std::string message);
    /// Something wrong in another file.
    void say(FileError error);
    [[nodiscard]] bool any() const { return !all_.empty(); }
    /// Requires any().
    [[nodiscard]] const FileError& first() const { return all_.front(); }
    /// In the order in which they were found, the first hundred.
    [[nodiscard]] const std::vector<FileError>& all() const { return all_; }
    [[nodiscard]] const std::string& file() const { return file_; }

    /// Who hears what is asked of the file, until this ends; nobody at first. See key_ears.hpp.
    void tell(KeyEars* ears) { ears_ = ears; }
    [[nodiscard]] KeyEars* ears() const { return ears_; }

    /// Whether something was said of that place, or below it: "machine", "fault[3]", "fault[3].at".
    [[nodiscard]] bool wrong(std::string_view path) const;
    /// Whether one of these stands in the file otherwise than it was read, by keys without indices: "signal" for all of
    /// it, "signal.name" for the names. "link" is also what the ends say of it.
    [[nodiscard]] bool in_doubt(std::initializer_list<std::string_view> keys) const;
    /// What was said of that key is not so: it is there, mistyped.
    void withdraw(std::string_view path);
    /// What is meant to be there may stand in the file under another name, or in another file.
    void doubt(std::string_view path);

  private:
    std::string file_;
    std::vector<FileError> all_;
    std::vector<std::string> doubts_;  ///< without indices, each once
    KeyEars* ears_ = nullptr;
};

/// How a file's text stands in a message: quoted, one line, at most 60 bytes.
std::string in_quotes(std::string_view text);

class Section {
  public:
    /// `path`: its dotted key, empty for the top of the file. Says so if `node` is no table.
    Section(const Node& node, std::string path, Problems& problems);

    [[nodiscard]] const Node* find(std::string_view key);
    [[nodiscard]] bool has(std::string_view key) { return find(key) != nullptr; }
    /// Whether somebody asked for that key already.
    [[nodiscard]] bool knows(std::string_view key) const;

    std::optional<std::string> text(std::string_view key);
    std::optional<bool> flag(std::string_view key);
    std::optional<std::int64_t> integer(std::string_view key, std::int64_t low, std::int64_t high);
    /// An integer or a string such as "0x1F".
    std::optional<std::uint64_t> hex(std::string_view key, std::uint64_t high);
    std::optional<double> probability(std::string_view key);
    enum class Zero : std::uint8_t { allowed, refused };
    std::optional<proto::Duration> duration(std::string_view key, Zero zero, proto::Duration longest);
    /// A quantity above or at zero, at most 2^40 of the smallest unit.
    std::optional<std::int64_t> quantity(std::string_view key, Zero zero, std::span<const Unit> units,
                                         std::string_view example);
    std::vector<std::string> texts(std::string_view key);  ///< a string or a list of strings

    /// One of some words.
    template <class T>
    std::optional<T> choice(std::string_view key, std::initializer_list<std::pair<std::string_view, T>> words) {
        std::vector<std::string> names;
        for (const auto& [name, value] : words) names.emplace_back(name);
        heard(key, [&] { return KeyShape::choice(names); });
        const std::optional<std::string> typed = text(key);
        if (!typed) return std::nullopt;
        for (const auto& [name, value] : words)
            if (*typed == name) return value;
        none_of(key, *typed, names);
        return std::nullopt;
    }
    void none_of(std::string_view key, std::string_view typed, std::span<const std::string> names);

    /// Sub-tables; nothing said if there are none.
    std::optional<Section> table(std::string_view key);
    std::vector<Section> tables(std::string_view key);  ///< [[key]]

    /// A key that must be there was not; said by finish(), after unknown keys, since a mistyped key is the likelier
    /// cause.
    void missing(std::string_view key, std::string_view example);
    void say(std::string_view key, std::string message) { problems_->say(place(key), std::move(message)); }
    [[nodiscard]] Place place(std::string_view key) const;
    [[nodiscard]] Place place() const { return {line_, path_}; }
    [[nodiscard]] Problems& problems() { return *problems_; }
    /// Whether something was said of this table or below it.
    [[nodiscard]] bool wrong() const { return problems_->wrong(path_); }
    [[nodiscard]] bool wrong(std::string_view key) const { return problems_->wrong(place(key).key); }
    [[nodiscard]] bool in_doubt(std::initializer_list<std::string_view> keys) const {
        return problems_->in_doubt(keys);
    }
    /// Keys of any name were read as they are (bit maps): finish() has nothing to say.
    [[nodiscard]] const Node& node() const { return *node_; }

    /// Says which key is unknown, else which one is missing.
    void finish();

  private:
    const Node* node_;
    int line_;
    std::string path_;
    Problems* problems_;
    std::vector<std::string> asked_;
    std::vector<std::pair<std::string, std::string>> missing_;

    [[nodiscard]] const Node* find(std::string_view key, Node::Kind kind, std::string_view wanted);
    /// Tells who listens what a key is asked for; costs nothing where nobody does.
    template <class Shape>
    void heard(std::string_view key, const Shape& shape) const {
        if (KeyEars* const ears = problems_->ears()) ears->asked(place(key).key, shape());
    }
};

/// A duration in a node, at most `longest`; says what is wrong. `key`: what the place is called in a message.
std::optional<proto::Duration> duration_in(const Node& node, const Place& where, Section::Zero zero,
                                           proto::Duration longest, Problems& problems);

}  // namespace sim
