#include "tools/web/door.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>

namespace tools {
namespace {

bool is_ipv4(const std::string& text) {
    in_addr unused{};
    return inet_pton(AF_INET, text.c_str(), &unused) == 1;
}

bool is_own_host(const Door& door, std::string_view header) {
    const std::string host = host_of(header);
    // a browser leaves the port of the web itself out
    if (header != host + ":" + std::to_string(door.port) && !(door.port == 80 && header == host)) return false;
    if (host == "localhost" || host == "127.0.0.1") return true;
    // a name could be pointed here by somebody else's server; an address cannot
    return door.bound == "0.0.0.0" ? is_ipv4(host) : host == door.bound;
}

int hex_digit(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

std::string unescaped(std::string_view text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool escaped =
            text[i] == '%' && i + 2 < text.size() && hex_digit(text[i + 1]) >= 0 && hex_digit(text[i + 2]) >= 0;
        if (escaped) {
            plain += static_cast<char>(hex_digit(text[i + 1]) * 16 + hex_digit(text[i + 2]));
            i += 2;
        } else {
            plain += text[i] == '+' ? ' ' : text[i];
        }
    }
    return plain;
}

/// One length, in digits only, or none.
std::optional<TurnedAway> length_turned_away(const WebHead& head, std::size_t most) {
    if (!head.all("transfer-encoding").empty()) return TurnedAway{411, "send it whole, with its length"};
    const std::vector<std::string_view> lengths = head.all("content-length");
    if (lengths.size() > 1) return TurnedAway{400, "the length is told more than once"};
    if (lengths.empty()) return std::nullopt;
    std::uint64_t length = 0;
    const std::string_view text = lengths.front();
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), length);
    if (error == std::errc::result_out_of_range) return TurnedAway{413, "too long"};
    if (error != std::errc{} || end != text.data() + text.size()) return TurnedAway{400, "the length is no number"};
    if (length > most) return TurnedAway{413, "too long"};
    return std::nullopt;
}

}  // namespace

std::vector<std::string_view> WebHead::all(std::string_view name) const {
    std::vector<std::string_view> found;
    for (const auto& [key, value] : headers)
        if (key == name) found.emplace_back(value);
    return found;
}

std::string_view WebHead::first(std::string_view name) const {
    for (const auto& [key, value] : headers)
        if (key == name) return value;
    return {};
}

bool is_loopback(std::string_view address) { return address.starts_with("127.") || address == "::1"; }

std::string host_of(std::string_view header) { return std::string(header.substr(0, header.rfind(':'))); }

std::string cookie_of(std::string_view header, std::string_view name) {
    for (std::size_t from = 0; from < header.size();) {
        const std::size_t end = std::min(header.find(';', from), header.size());
        const std::string_view one = header.substr(from, end - from);
        if (one.size() > name.size() && one.starts_with(name) && one[name.size()] == '=')
            return std::string(one.substr(name.size() + 1));
        from = std::min(header.find_first_not_of(' ', end + 1), header.size());
    }
    return {};
}

void read_fields(std::string_view text, std::vector<std::pair<std::string, std::string>>& fields) {
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('&'), text.size());
        const std::string_view one = text.substr(0, end);
        const std::size_t equals = std::min(one.find('='), one.size());
        if (!one.empty())
            fields.emplace_back(unescaped(one.substr(0, equals)),
                                equals < one.size() ? unescaped(one.substr(equals + 1)) : std::string());
        text.remove_prefix(std::min(end + 1, text.size()));
    }
}

std::optional<TurnedAway> turned_away(const Door& door, const WebHead& head) {
    const std::vector<std::string_view> hosts = head.all("host");
    if (hosts.size() != 1 || !is_own_host(door, hosts.front())) return TurnedAway{421, "another host was asked for"};
    const std::string_view origin = head.first("origin");
    if (head.all("origin").size() > 1 || (!origin.empty() && origin != "http://" + std::string(hosts.front())))
        return TurnedAway{403, "asked for by a page of another origin"};
    if (head.method != "GET" && head.method != "POST" && head.method != "HEAD")
        return TurnedAway{405, "only GET and POST"};
    if (!head.target.starts_with('/')) return TurnedAway{400, "no path of this server"};
    return length_turned_away(head, door.body_most);
}

}  // namespace tools
