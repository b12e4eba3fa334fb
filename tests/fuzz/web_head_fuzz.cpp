// The head of any request: what is let in is for this host, from no other page, by a known method and with one length
// at most.
#include "tests/fuzz/fuzz.hpp"
#include "tools/web/door.hpp"

namespace {

/// Up to the next `end`, which is left out.
std::string taken(std::string_view& text, char end) {
    const std::size_t at = std::min(text.find(end), text.size());
    std::string first(text.substr(0, at));
    text.remove_prefix(std::min(at + 1, text.size()));
    return first;
}

/// "METHOD TARGET\nname: value\n..." as the HTTP library hands it on.
tools::WebHead head_of(std::string_view text) {
    tools::WebHead head;
    std::string line = taken(text, '\n');
    std::string_view first = line;
    head.method = taken(first, ' ');
    head.target = first;
    while (!text.empty()) {
        line = taken(text, '\n');
        std::string_view header = line;
        std::string name = taken(header, ':');
        if (header.starts_with(' ')) header.remove_prefix(1);
        head.headers.emplace_back(std::move(name), std::string(header));
    }
    return head;
}

void check_let_in(const tools::Door& door, const tools::WebHead& head) {
    if (head.all("host").size() != 1) fuzz::broken("let in without a host, or with two");
    const std::string host = tools::host_of(head.first("host"));
    if (door.bound != "0.0.0.0" && host != "localhost" && host != "127.0.0.1" && host != door.bound)
        fuzz::broken("let in for another host");
    if (!head.all("transfer-encoding").empty()) fuzz::broken("let in in pieces");
    if (head.all("content-length").size() > 1) fuzz::broken("let in with two lengths");
    const std::string_view origin = head.first("origin");
    if (!origin.empty() && origin != "http://" + std::string(head.first("host")))
        fuzz::broken("let in from another page");
    if (head.method != "GET" && head.method != "POST" && head.method != "HEAD")
        fuzz::broken("let in by another method");
    const std::string length(head.first("content-length"));
    if (!length.empty() && std::strtoull(length.c_str(), nullptr, 10) > tools::body_bytes_max)
        fuzz::broken("let in too long");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const bool everywhere = input.flag();
    const std::string text = fuzz::text_of(input.rest().data(), input.rest().size());
    const tools::Door door{everywhere ? "0.0.0.0" : "127.0.0.1", 8080};
    const tools::WebHead head = head_of(text);
    if (const auto no = tools::turned_away(door, head)) {
        if (no->status < 400 || no->status > 499 || no->why.empty()) fuzz::broken("turned away for nothing");
    } else {
        check_let_in(door, head);
    }
    std::vector<std::pair<std::string, std::string>> fields;
    tools::read_fields(head.target, fields);
    for (const auto& [name, value] : fields)
        if (name.size() + value.size() > head.target.size()) fuzz::broken("a field longer than what was sent");
    const std::string cookie = tools::cookie_of(head.first("cookie"), "session");
    if (cookie.find(';') != std::string::npos) fuzz::broken("a cookie that holds two");
    static_cast<void>(tools::is_loopback(head.first("from")));
    return 0;
}
