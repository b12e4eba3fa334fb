// The files of the training pages, by path.
#include <algorithm>
#include <array>

#include "tools/program/embedded.hpp"
#include "tools/training/trainer.hpp"

namespace tools {
namespace {

constexpr const char* html = "text/html; charset=utf-8";
constexpr const char* script = "text/javascript; charset=utf-8";
constexpr const char* style = "text/css; charset=utf-8";

struct BuiltIn {
    std::string_view path;
    const EmbeddedFile* file;
    const char* type;
};
constexpr std::array<BuiltIn, 14> built_in{{{"/", &training_page, html},
                                            {"/drills", &training_page, html},
                                            {"/mine", &training_page, html},
                                            {"/exam", &training_page, html},
                                            {"/instructor", &instructor_page, html},
                                            {"/training.css", &training_style, style},
                                            {"/training.js", &training_script, script},
                                            {"/texts.js", &training_texts, script},
                                            {"/drawing.js", &training_drawing, script},
                                            {"/bench.js", &training_bench, script},
                                            {"/steps.js", &training_steps, script},
                                            {"/debrief.js", &training_debrief, script},
                                            {"/keys.js", &training_keys, script},
                                            {"/instructor.js", &instructor_script, script}}};

}  // namespace

std::optional<WebReply> built_in_page(const std::string& path, bool local) {
    if (path == "/favicon.ico") return WebReply{.status = 204, .type = "image/x-icon", .body = ""};
    const std::string_view wanted = path.starts_with("/drill/") ? "/drills" : std::string_view(path);
    const auto found =
        std::find_if(built_in.begin(), built_in.end(), [&](const BuiltIn& one) { return one.path == wanted; });
    if (found == built_in.end()) return std::nullopt;
    if (path == "/instructor" && !local) return refused(403, "only on this machine");
    return WebReply{.type = found->type, .body = std::string(found->file->content)};
}

}  // namespace tools
