#include "sim/reading/section.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "sim/scenario/ends.hpp"
#include "sim/scenario/nearest.hpp"

namespace sim {
namespace {

std::string in_one_line(std::string_view text) {
    std::string clean;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        clean += byte < 0x20 || byte == 0x7F ? '?' : c;
    }
    return clean;
}

std::string_view kind_name(Node::Kind kind) {
    switch (kind) {
        case Node::Kind::text: return "a text in quotes";
        case Node::Kind::integer: return "a whole number";
        case Node::Kind::number: return "a number";
        case Node::Kind::boolean: return "true or false";
        case Node::Kind::table: return "a table";
        case Node::Kind::array: return "a list";
        case Node::Kind::date_or_time: return "a date or time";
    }
    return "?";
}

std::string unit_names(std::span<const Unit> units) {
    std::string names;
    for (const Unit& unit : units) {
        if (!names.empty()) names += ", ";
        names += unit.name;
    }
    return names;
}

std::string number_text(const Node& node) {
    if (node.kind == Node::Kind::integer) return std::to_string(node.integer);
    std::string text = std::to_string(node.number);
    while (text.find('.') != std::string::npos && (text.back() == '0' || text.back() == '.')) {
        const bool point = text.back() == '.';
        text.pop_back();
        if (point) break;
    }
    return text;
}

bool digit_at(std::string_view text, std::size_t i) { return i < text.size() && text[i] >= '0' && text[i] <= '9'; }

/// "12.5 ms" for "12,5 ms"; empty where no comma stands between digits.
std::string with_point(const std::string& typed) {
    const std::size_t comma = typed.find(',');
    if (comma == std::string::npos || comma == 0 || !digit_at(typed, comma - 1) || !digit_at(typed, comma + 1))
        return "";
    std::string meant = in_one_line(typed.substr(0, 40));
    if (comma < meant.size()) meant[comma] = '.';
    return meant;
}

/// "1.5e2 ms"
bool has_exponent(std::string_view typed) {
    const std::size_t e = typed.find_first_of("eE");
    if (e == std::string_view::npos || e == 0 || !digit_at(typed, e - 1)) return false;
    const bool sign = e + 1 < typed.size() && (typed[e + 1] == '+' || typed[e + 1] == '-');
    return digit_at(typed, e + (sign ? 2 : 1));
}

/// The quantity, or the sentence that says what is wrong. `example` has the unit that is usual here.
proto::Result<std::int64_t, std::string> quantity_in(const Node& node, std::span<const Unit> units,
                                                     std::string_view example) {
    const std::string usual_unit(example.substr(example.find(' ') + 1));
    if (node.kind == Node::Kind::number && !std::isfinite(node.number))
        return "is no number that can be reckoned with; write a value such as \"" + std::string(example) + "\"";
    if (node.kind == Node::Kind::integer || node.kind == Node::Kind::number) {
        const std::string number = number_text(node);
        return number + " has no unit; write \"" + number + " " + usual_unit + "\"";
    }
    if (node.kind != Node::Kind::text) {
        return std::string("is ") + std::string(kind_name(node.kind)) + "; write \"" + std::string(example) + "\"";
    }
    const proto::Result<std::int64_t, QuantityFault> read = parse_quantity(node.text, units);
    if (read) return read.value();
    const std::string typed = in_quotes(node.text);
    switch (read.error()) {
        case QuantityFault::no_number: break;
        case QuantityFault::no_unit: {
            const std::string number = in_one_line(node.text.substr(0, 40));
            return typed + " has no unit; write \"" + number + " " + usual_unit + "\"";
        }
        case QuantityFault::unknown_unit:
            if (const std::string meant = with_point(node.text); !meant.empty())
                return typed + " has a comma in its number; write \"" + meant + "\"";
            if (has_exponent(node.text))
                return typed + " has a number with an exponent; write all its digits, such as \"" +
                       std::string(example) + "\"";
            return typed + " has an unknown unit; write one of " + unit_names(units) + ", such as \"" +
                   std::string(example) + "\"";
        case QuantityFault::too_fine:
            return typed + " is finer than 1 " + std::string(units.front().name) + "; write fewer decimals";
        case QuantityFault::too_large:
            return typed + " is too large; write a value such as \"" + std::string(example) + "\"";
    }
    return typed + " is not a number with a unit; write a value such as \"" + std::string(example) + "\"";
}

}  // namespace

std::string FileError::one_line() const {
    std::string text = in_one_line(file);
    if (line > 0) text += ":" + std::to_string(line);
    if (!key.empty()) text += ": " + in_one_line(key);
    return text + ": " + in_one_line(message);
}

void put(Node& table, std::string_view key, Node value) {
    for (Member& member : table.members)
        if (member.key == key) {
            member.value = std::move(value);
            return;
        }
    table.members.push_back({std::string(key), std::move(value)});
}

const Node* Node::find(std::string_view key) const {
    const auto found = std::find_if(members.begin(), members.end(), [&](const Member& m) { return m.key == key; });
    return found == members.end() ? nullptr : &found->value;
}

std::string in_quotes(std::string_view text) {
    constexpr std::size_t bytes_max = 60;
    std::string shown = in_one_line(text.substr(0, bytes_max));
    if (text.size() > bytes_max) {
        // Not half a character of several bytes.
        while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0U) == 0x80) shown.pop_back();
        if (!shown.empty() && static_cast<unsigned char>(shown.back()) >= 0xC0) shown.pop_back();
        shown += "...";
    }
    return "\"" + shown + "\"";
}

Section::Section(const Node& node, std::string path, Problems& problems)
    : node_(&node), line_(node.line), path_(std::move(path)), problems_(&problems) {
    if (node.kind == Node::Kind::table) return;
    problems.say(place(), std::string("is ") + std::string(kind_name(node.kind)) + "; write a table");
}

bool Section::knows(std::string_view key) const { return std::find(asked_.begin(), asked_.end(), key) != asked_.end(); }

const Node* Section::find(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::named); });
    if (!knows(key)) asked_.emplace_back(key);
    return node_->find(key);
}

const Node* Section::find(std::string_view key, Node::Kind kind, std::string_view wanted) {
    const Node* found = find(key);
    if (found == nullptr || found->kind == kind) return found;
    say(key, "is " + std::string(kind_name(found->kind)) + "; write " + std::string(wanted));
    return nullptr;
}

Place Section::place(std::string_view key) const {
    const Node* found = node_->find(key);
    return {found != nullptr ? found->line : line_, path_.empty() ? std::string(key) : path_ + "." + std::string(key)};
}

std::optional<std::string> Section::text(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::text); });
    const Node* found = find(key, Node::Kind::text, "a text in quotes, such as " + std::string(key) + " = \"...\"");
    if (found == nullptr) return std::nullopt;
    return found->text;
}

std::optional<bool> Section::flag(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::flag); });
    const Node* found = find(key, Node::Kind::boolean, "true or false, without quotes");
    if (found == nullptr) return std::nullopt;
    return found->boolean;
}

std::optional<std::int64_t> Section::integer(std::string_view key, std::int64_t low, std::int64_t high) {
    heard(key, [&] { return KeyShape::integer(low, high); });
    const std::string range = std::to_string(low) + " to " + std::to_string(high);
    if (const Node* typed = find(key); typed != nullptr && typed->kind == Node::Kind::number) {
        say(key, number_text(*typed) + " is no whole number; write " + range);
        return std::nullopt;
    }
    const Node* found = find(key, Node::Kind::integer, "a whole number, " + range);
    if (found == nullptr) return std::nullopt;
    if (found->integer < low || found->integer > high) {
        say(key, std::to_string(found->integer) + " is out of range; write " + range);
        return std::nullopt;
    }
    return found->integer;
}

std::optional<std::uint64_t> Section::hex(std::string_view key, std::uint64_t high) {
    heard(key, [&] { return KeyShape{.kind = KeyShape::Kind::hex, .high = high}; });
    const Node* found = find(key);
    if (found == nullptr) return std::nullopt;
    const std::string range = "0x0 to " + written_hex(high, 1);
    if (found->kind == Node::Kind::integer) {
        if (found->integer >= 0 && static_cast<std::uint64_t>(found->integer) <= high) {
            return static_cast<std::uint64_t>(found->integer);
        }
        say(key, std::to_string(found->integer) + " is out of range; write " + range);
        return std::nullopt;
    }
    if (found->kind != Node::Kind::text) {
        say(key, "is " + std::string(kind_name(found->kind)) + "; write " + range + ", such as \"0x0010\"");
        return std::nullopt;
    }
    std::string_view digits = found->text;
    const bool prefixed = digits.starts_with("0x") || digits.starts_with("0X");
    if (prefixed) digits.remove_prefix(2);
    std::uint64_t value = 0;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value, prefixed ? 16 : 10);
    if (digits.empty() || error == std::errc::invalid_argument || end != digits.data() + digits.size()) {
        say(key, in_quotes(found->text) + " is no number; write " + range + ", such as \"0x0010\"");
        return std::nullopt;
    }
    if (error != std::errc{} || value > high) {
        say(key, in_quotes(found->text) + " is out of range; write " + range);
        return std::nullopt;
    }
    return value;
}

std::optional<double> Section::probability(std::string_view key) {
    heard(key, [] { return KeyShape::number(0.0, 1.0); });
    const Node* found = find(key);
    if (found == nullptr) return std::nullopt;
    const bool is_number = found->kind == Node::Kind::number || found->kind == Node::Kind::integer;
    if (!is_number) {
        say(key, "is " + std::string(kind_name(found->kind)) + "; write a probability from 0 to 1, such as 1e-4");
        return std::nullopt;
    }
    const double value = found->kind == Node::Kind::number ? found->number : static_cast<double>(found->integer);
    if (!(value >= 0.0 && value <= 1.0)) {  // not a number is refused too
        say(key, number_text(*found) + " is no probability; write 0 to 1, such as 1e-4");
        return std::nullopt;
    }
    return value;
}

std::optional<proto::Duration> duration_in(const Node& node, const Place& where, Section::Zero zero,
                                           proto::Duration longest, Problems& problems) {
    const proto::Result<std::int64_t, std::string> read = quantity_in(node, duration_units(), "45 ms");
    if (!read) {
        problems.say(where, read.error());
        return std::nullopt;
    }
    const proto::Duration value{read.value()};
    if (value.ns < 0) {
        problems.say(where, written(value) + " is negative; write \"" + written(proto::Duration{} - value) + "\"");
    } else if (value.ns == 0 && zero == Section::Zero::refused) {
        problems.say(where, "0 is too short; write more than \"0 ms\"");
    } else if (value > longest) {
        problems.say(where, written(value) + " is too long; write \"" + written(longest) + "\" or less");
    } else {
        return value;
    }
    return std::nullopt;
}

std::optional<proto::Duration> Section::duration(std::string_view key, Zero zero, proto::Duration longest) {
    heard(key, [&] { return KeyShape::quantity(duration_units(), zero == Zero::refused, longest.ns); });
    const Node* found = find(key);
    if (found == nullptr) return std::nullopt;
    return duration_in(*found, place(key), zero, longest, *problems_);
}

std::optional<std::int64_t> Section::quantity(std::string_view key, Zero zero, std::span<const Unit> units,
                                              std::string_view example) {
    heard(key, [&] { return KeyShape::quantity(units, zero == Zero::refused, 0); });
    const Node* found = find(key);
    if (found == nullptr) return std::nullopt;
    const proto::Result<std::int64_t, std::string> read = quantity_in(*found, units, example);
    constexpr std::int64_t largest = std::int64_t{1} << 40;
    if (!read) {
        say(key, read.error());
    } else if (read.value() < 0 || (read.value() == 0 && zero == Zero::refused)) {
        say(key, in_quotes(found->text) + " is too small; write more than 0, such as \"" + std::string(example) + "\"");
    } else if (read.value() > largest) {
        say(key, in_quotes(found->text) + " is too large; write a value such as \"" + std::string(example) + "\"");
    } else {
        return read.value();
    }
    return std::nullopt;
}

std::vector<std::string> Section::texts(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::texts); });
    const Node* found = find(key);
    if (found == nullptr) return {};
    if (found->kind == Node::Kind::text) return {found->text};
    std::vector<std::string> all;
    bool right = found->kind == Node::Kind::array;
    for (const Node& item : found->items) {
        right = right && item.kind == Node::Kind::text;
        all.push_back(item.text);
    }
    if (right) return all;
    say(key, R"(is no list of texts; write ["...", "..."])");
    return {};
}

void Section::none_of(std::string_view key, std::string_view typed, std::span<const std::string> names) {
    std::string all;
    for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
    std::string message = in_quotes(typed) + " is none of " + all;
    const std::string& nearest = names[nearest_of(typed, names)];
    message += looks_like(typed, nearest) ? "; did you mean \"" + nearest + "\"?" : "; write one of them";
    say(key, message);
}

std::optional<Section> Section::table(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::table); });
    const Node* found = find(key, Node::Kind::table, "a table, [" + place(key).key + "]");
    if (found == nullptr) return std::nullopt;
    return Section(*found, place(key).key, *problems_);
}

std::vector<Section> Section::tables(std::string_view key) {
    heard(key, [] { return KeyShape::of(KeyShape::Kind::tables); });
    const std::string path = place(key).key;
    const Node* found = find(key, Node::Kind::array, "one or more [[" + path + "]]");
    std::vector<Section> all;
    if (found == nullptr) return all;
    for (std::size_t i = 0; i < found->items.size(); ++i) {
        all.emplace_back(found->items[i], path + "[" + std::to_string(i + 1) + "]", *problems_);
    }
    return all;
}

void Section::missing(std::string_view key, std::string_view example) {
    problems_->doubt(place(key).key);
    missing_.emplace_back(key, example);
}

void Section::finish() {
    if (node_->kind != Node::Kind::table) return;  // which was said
    std::vector<std::string> meant;
    for (const Member& member : node_->members) {
        if (knows(member.key)) continue;
        const std::string& nearest = asked_[nearest_of(member.key, asked_)];
        if (looks_like(member.key, nearest)) {
            problems_->doubt(place(nearest).key);
            if (node_->find(nearest) == nullptr) {
                meant.push_back(nearest);
                problems_->withdraw(place(nearest).key);
            }
            say(member.key, "unknown key; did you mean \"" + nearest + "\"?");
        } else {
            std::string text = "unknown key; write one that is known here: ";
            for (const std::string& key : asked_) text += (&key == &asked_.front() ? "" : ", ") + key;
            say(member.key, text);
        }
    }
    for (const auto& [key, example] : missing_) {
        // it is there, mistyped
        if (std::find(meant.begin(), meant.end(), key) != meant.end()) continue;
        std::string text = "is missing; write " + key + " = ";
        text += example;
        say(key, text);
    }
}

}  // namespace sim
