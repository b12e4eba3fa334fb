#include <algorithm>
#include <filesystem>
#include <set>
#include <string>

#include <doctest/doctest.h>

#include "tools/pages/embedded.hpp"
#include "tools/web/served_file.hpp"

namespace {

std::string_view content_of(std::string_view path) {
    for (const tools::ServedFile& file : tools::served_files())
        if (file.path == path) return file.content;
    return {};
}

/// What a browser asks for once it reads that module, in the end; line by line, unlike what is tested.
void collect(const std::string& path, std::set<std::string>& all) {
    if (!all.insert(path).second) return;
    const std::string text(content_of(path));
    CHECK_MESSAGE(!text.empty(), path);
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string line = text.substr(at, end - at);
        at = end + 1;
        const std::size_t from = line.find(" from '");
        if (from == std::string::npos || !line.ends_with("';")) continue;
        const std::string named = line.substr(from + 7, line.size() - from - 9);
        collect((std::filesystem::path(path).parent_path() / named).lexically_normal().string(), all);
    }
}

}  // namespace

TEST_CASE("a page names each module that its script imports, once, so that all are asked for together") {
    for (const auto& [page, script] : {std::pair{"/desk/pages/desk.html", "/desk/pages/desk.js"},
                                       std::pair{"/training/pages/page.html", "/training/pages/training.js"}}) {
        const auto served = tools::served_page(page);
        REQUIRE(served);
        CHECK(served->type.starts_with("text/html"));
        std::set<std::string> wanted;
        collect(script, wanted);
        CHECK(wanted.size() > 20);
        std::size_t named = 0;
        for (std::size_t at = served->body.find("modulepreload"); at != std::string::npos;
             at = served->body.find("modulepreload", at + 1))
            ++named;
        CHECK(named == wanted.size());
        for (const std::string& one : wanted)
            CHECK_MESSAGE(served->body.find("\"modulepreload\" href=\"" + one + "\"") != std::string::npos, one);
        CHECK(served->body.find("modulepreload") < served->body.find("</head>"));
    }
    CHECK_FALSE(tools::served_page("/desk/pages/none.html"));
    CHECK_FALSE(tools::served_file("/desk/../../etc/passwd"));
}
