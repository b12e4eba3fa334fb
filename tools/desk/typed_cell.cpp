#include "tools/desk/typed_cell.hpp"

#include <optional>

#include "sim/reading/patch.hpp"

namespace tools {
namespace {

std::optional<sim::WrittenValue> written_at(const sim::WrittenFile& file, const TypedPlace& place) {
    if (!place.path.empty())
        if (const auto here = sim::value_at(file, place.path)) return here;
    return place.otherwise.empty() ? std::nullopt : sim::value_at(file, place.otherwise);
}

/// Without the quotes of a plain string: what a person would type again.
std::string as_people_type(const sim::WrittenValue& value) {
    if (value.node != nullptr && value.node->kind == sim::Node::Kind::text) return value.node->text;
    return std::string(value.written);
}

/// The same number by the other base: "0x17" beside 23.
std::string other_base(const std::vector<sim::TypedAddress>& addresses) {
    if (addresses.size() != 1) return {};
    const std::string both = sim::in_both_bases(addresses.front());
    const std::size_t open = both.find(" (");
    return open == std::string::npos ? std::string() : both.substr(open + 2, both.size() - open - 3);
}

}  // namespace

bool is_typed(const sim::WrittenFile& file, const TypedPlace& place) { return written_at(file, place).has_value(); }

std::string path_to_type(const sim::WrittenFile& file, const TypedPlace& place) {
    const bool elsewhere =
        !place.otherwise.empty() && !sim::value_at(file, place.path) && sim::value_at(file, place.otherwise);
    return elsewhere ? place.otherwise : place.path;
}

Value cell_told(const sim::WrittenFile& file, const TypedPlace& place, const std::string& shown,
                const std::vector<sim::TypedAddress>& addresses) {
    const auto written = written_at(file, place);
    Value typed, line;
    if (written) typed = as_people_type(*written);
    if (written) line = written->line;
    std::string words = shown.empty() && written ? as_people_type(*written) : shown;
    if (addresses.size() == 1) words = sim::as_typed(addresses.front());  // the other base stands beside it
    return Value::Object{{"path", Value::text_or_null(path_to_type(file, place))},
                         {"typed", std::move(typed)},
                         {"shown", std::move(words)},
                         {"other", other_base(addresses)},
                         {"line", std::move(line)}};
}

Value fixed_cell(const std::string& shown) {
    return Value::Object{{"path", Value()}, {"typed", Value()}, {"shown", shown}, {"other", ""}, {"line", Value()}};
}

}  // namespace tools
