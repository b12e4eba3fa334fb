// What is wrong with a file while it is read, and what cannot be judged for it.
#include <algorithm>
#include <utility>

#include "sim/reading/section.hpp"

namespace sim {
namespace {

constexpr std::size_t problems_most = 100, doubts_most = 1000;

/// Whether a dotted key is that path, or of something below it.
bool is_at_or_below(std::string_view key, std::string_view path) {
    if (!key.starts_with(path)) return false;
    return key.size() == path.size() || key[path.size()] == '.' || key[path.size()] == '[';
}

/// "signal.name" for "signal[3].name"; what an end says of the link counts as said of the link.
std::string without_indices(std::string_view path) {
    std::string key;
    bool inside = false;
    for (const char c : path) {
        inside = (inside || c == '[') && c != ']';
        if (!inside && c != ']') key += c;
    }
    for (const std::string_view end : {"controller", "device"})
        if (is_at_or_below(key, end)) return "link" + key.substr(end.size());
    return key;
}

}  // namespace

void Problems::say(const Place& where, std::string message) {
    say(FileError{.file = file_, .line = where.line, .key = where.key, .message = std::move(message)});
}

void Problems::say(FileError error) {
    if (error.file == file_) doubt(error.key);
    // a second thing about one key mostly follows from the first
    const bool known = std::any_of(all_.begin(), all_.end(), [&](const FileError& other) {
        return other.line == error.line && other.key == error.key && other.file == error.file;
    });
    if (!known && all_.size() < problems_most) all_.push_back(std::move(error));
}

bool Problems::wrong(std::string_view path) const {
    if (path.empty()) return any();
    if (all_.size() == problems_most) return true;
    return std::any_of(all_.begin(), all_.end(),
                       [&](const FileError& one) { return one.file == file_ && is_at_or_below(one.key, path); });
}

void Problems::withdraw(std::string_view path) {
    std::erase_if(all_, [&](const FileError& one) { return one.file == file_ && one.key == path; });
}

void Problems::doubt(std::string_view path) {
    std::string key = without_indices(path);
    if (doubts_.size() < doubts_most && std::find(doubts_.begin(), doubts_.end(), key) == doubts_.end())
        doubts_.push_back(std::move(key));
}

bool Problems::in_doubt(std::initializer_list<std::string_view> keys) const {
    if (doubts_.size() == doubts_most) return true;
    return std::any_of(doubts_.begin(), doubts_.end(), [&](const std::string& doubt) {
        return std::any_of(keys.begin(), keys.end(), [&](std::string_view key) {
            return is_at_or_below(doubt, key) || is_at_or_below(key, doubt);
        });
    });
}

}  // namespace sim
