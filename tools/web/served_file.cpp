#include "tools/web/served_file.hpp"

#include <algorithm>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "tools/pages/embedded.hpp"

namespace tools {
namespace {

const char* type_of(std::string_view path) {
    if (path.ends_with(".js")) return "text/javascript; charset=utf-8";
    return path.ends_with(".css") ? "text/css; charset=utf-8" : "text/html; charset=utf-8";
}

std::string_view content_of(std::string_view path) {
    for (const ServedFile& file : served_files())
        if (file.path == path) return file.content;
    return {};
}

/// The path that a module names, seen from another.
std::string resolved(std::string_view from, std::string_view named) {
    return std::filesystem::path(from).parent_path().append(named).lexically_normal().string();
}

/// What stands between those words in a text, each time.
std::vector<std::string_view> between(std::string_view text, std::string_view before, char end) {
    std::vector<std::string_view> found;
    for (std::size_t at = text.find(before); at != std::string_view::npos; at = text.find(before, at)) {
        at += before.size();
        const std::size_t close = text.find(end, at);
        if (close == std::string_view::npos) break;
        found.push_back(text.substr(at, close - at));
    }
    return found;
}

/// That module and all that it imports, each once, as they are met.
std::vector<std::string> modules_from(std::string_view script) {
    std::vector<std::string> all{std::string(script)};
    for (std::size_t i = 0; i < all.size(); ++i)
        for (const std::string_view named : between(content_of(all[i]), " from '", '\''))
            if (std::string path = resolved(all[i], named); std::find(all.begin(), all.end(), path) == all.end())
                all.push_back(std::move(path));
    return all;
}

}  // namespace

std::optional<WebReply> served_page(std::string_view path) {
    auto page = served_file(path);
    if (!page) return page;
    std::string words;
    for (const std::string_view script : between(page->body, "<script src=\"", '"'))
        for (const std::string& module : modules_from(script))
            if (!content_of(module).empty()) words += "<link rel=\"modulepreload\" href=\"" + module + "\">\n";
    const std::size_t head = page->body.find("</head>");
    if (head != std::string::npos) page->body.insert(head, words);
    return page;
}

std::optional<WebReply> served_file(std::string_view path) {
    for (const ServedFile& file : served_files())
        if (file.path == path) return WebReply{.type = type_of(path), .body = std::string(file.content)};
    return std::nullopt;
}

}  // namespace tools
