#include "tools/desk/address_edit.hpp"

#include <utility>

#include "sim/reading/patch.hpp"

namespace tools {
namespace {

using Text = proto::Result<std::string, sim::FileError>;

constexpr std::string_view both = "both:";

/// The same edit of a text that another edit made.
Text with_typed(const std::string& text, const sim::WrittenFile& file, std::string_view path, std::string_view typed) {
    auto parsed = sim::WrittenFile::of(text, file.path());
    if (!parsed) return parsed.error();
    const auto value = sim::as_toml(parsed.value(), path, typed);
    if (!value) return value.error();
    return sim::with_value(parsed.value(), path, value.value());
}
Text without_path(const std::string& text, const sim::WrittenFile& file, std::string_view path) {
    auto parsed = sim::WrittenFile::of(text, file.path());
    if (!parsed) return parsed.error();
    if (!sim::value_at(parsed.value(), path)) return text;
    return sim::without(parsed.value(), path);
}

/// As it stands in the file, quotes and all.
std::string written_at(const sim::WrittenFile& file, const std::string& path) {
    const auto value = sim::value_at(file, path);
    return value ? std::string(value->written) : std::string();
}

/// "link[2].device.address" -> "link[2].", "device", "address".
struct Parts {
    std::string before, end, key;
};
std::optional<Parts> parts_of(std::string_view path) {
    const std::size_t dot = path.rfind('.');
    if (dot == std::string_view::npos) return std::nullopt;
    const std::size_t end = path.rfind('.', dot - 1);
    Parts parts;
    parts.key = path.substr(dot + 1);
    parts.end =
        path.substr(end == std::string_view::npos ? 0 : end + 1, dot - (end == std::string_view::npos ? 0 : end + 1));
    parts.before = end == std::string_view::npos ? "" : std::string(path.substr(0, end + 1));
    const bool of_end = parts.end == "controller" || parts.end == "device";
    const bool of_address = parts.key == "address" || parts.key == "peer_address";
    return of_end && of_address ? std::optional(parts) : std::nullopt;
}

/// Where the same address stands at the other end. The controller of a cell has one for all its links: what one of them
/// would have otherwise is no longer the same address.
std::string other_path(const Parts& parts) {
    return parts.before + (parts.end == "controller" ? "device" : "controller") + "." +
           (parts.key == "address" ? "peer_address" : "address");
}

}  // namespace

std::string both_paths(const AddressPaths& paths) { return std::string(both) + paths.own + "|" + paths.peer; }

std::optional<Text> with_address(const sim::WrittenFile& file, std::string_view path, std::string_view typed) {
    if (path.starts_with(both)) {
        path.remove_prefix(both.size());
        const std::size_t bar = path.find('|');
        if (bar == std::string_view::npos || typed.empty())
            return sim::FileError{file.path(), 0, std::string(path), "an address is needed; write it by 10 or as 0x17"};
        const Text own = with_typed(file.text(), file, path.substr(0, bar), typed);
        if (!own) return own;
        return without_path(own.value(), file, path.substr(bar + 1));
    }
    const auto parts = parts_of(path);
    if (!parts) return std::nullopt;
    const std::string other = other_path(*parts);
    const bool is_own = parts->key == "address";
    if (typed.empty()) {
        if (!is_own) return without_path(file.text(), file, path);
        // its own as the other end has it
        const std::string theirs = written_at(file, other);
        if (theirs.empty()) return Text(file.text());
        auto same = sim::with_value(file, path, theirs);
        if (!same) return same;
        return without_path(same.value(), file, other);
    }
    Text text = with_typed(file.text(), file, path, typed);
    const std::string before = written_at(file, std::string(path));
    // the other end keeps what it had
    if (!text || !is_own || before.empty() || !written_at(file, other).empty()) return text;
    auto parsed = sim::WrittenFile::of(text.value(), file.path());
    if (!parsed) return Text(parsed.error());
    return sim::with_value(parsed.value(), other, before);
}

std::optional<Text> with_one_watchdog(const sim::WrittenFile& file, std::string_view path, std::string_view typed) {
    constexpr std::string_view key = "watchdog";
    if (typed.empty() || !path.ends_with(key)) return std::nullopt;
    const std::string table(path.substr(0, path.size() - key.size()));
    if (!table.ends_with('.') || (table != "link." && !table.ends_with("]."))) return std::nullopt;
    Text text = Text(file.text());
    bool any = false;
    for (const char* const of_end : {"controller_watchdog", "device_watchdog"}) {
        if (!sim::value_at(file, table + of_end)) continue;
        any = true;
        text = without_path(text.value(), file, table + of_end);
        if (!text) return text;
    }
    if (!any) return std::nullopt;
    return with_typed(text.value(), file, path, typed);
}

}  // namespace tools
