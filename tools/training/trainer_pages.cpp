// The training pages by the addresses that people see, and their scripts and styles by path.
#include <algorithm>
#include <array>

#include "tools/training/trainer.hpp"
#include "tools/web/served_file.hpp"

namespace tools {
namespace {

struct Page {
    std::string_view address, file;
};
constexpr std::string_view trainee_page = "/training/pages/page.html";
constexpr std::array<Page, 5> pages{{{"/", trainee_page},
                                     {"/drills", trainee_page},
                                     {"/mine", trainee_page},
                                     {"/exam", trainee_page},
                                     {"/instructor", "/training/pages/instructor.html"}}};

}  // namespace

std::optional<WebReply> built_in_page(const std::string& path, bool local) {
    if (path == "/favicon.ico") return WebReply{.status = 204, .type = "image/x-icon", .body = ""};
    if (path.ends_with(".js") || path.ends_with(".css")) return served_file(path);
    const std::string_view wanted = path.starts_with("/drill/") ? "/drills" : std::string_view(path);
    const auto* const page =
        std::find_if(pages.begin(), pages.end(), [&](const Page& one) { return one.address == wanted; });
    if (page == pages.end()) return std::nullopt;
    if (path == "/instructor" && !local) return refused(403, "only on this machine");
    return served_page(page->file);
}

}  // namespace tools
