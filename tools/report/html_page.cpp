#include "tools/report/html_page.hpp"

#include "tools/pages/embedded.hpp"
#include "tools/text/json.hpp"

namespace tools {
namespace {

std::string quoted_hash(const EmbeddedFile& file) { return "'" + std::string(file.hash) + "'"; }

std::string policy_of(PageLook look) {
    std::string policy = "default-src 'none'; base-uri 'none'; form-action 'none'; style-src ";
    policy += look == PageLook::report ? quoted_hash(drawings_style) + " " + quoted_hash(report_style)
                                       : quoted_hash(sheet_style);
    policy += "; script-src ";
    policy += look == PageLook::report ? quoted_hash(chart_library) + " " + quoted_hash(report_script)
                                       : quoted_hash(sheet_script);
    return policy;
}

std::string_view class_of(PageLook look) {
    switch (look) {
        case PageLook::report: return "report";
        case PageLook::portrait: return "sheet portrait";
        case PageLook::landscape: return "sheet landscape";
    }
    return "";
}

/// On the screen, and what the script writes on paper; by hand where no script runs.
constexpr std::string_view sheet_tools =
    "<p class=\"tools\"><button type=\"button\" id=\"save\">Save this sheet as filled in</button> "
    "<span class=\"soft\" id=\"saved\" role=\"status\">What is typed is kept in the saved file and nowhere "
    "else.</span></p>\n"
    "<p class=\"printed\">Date of print: <span id=\"printed\">____________</span></p>\n";

}  // namespace

std::string html_page(const Sheet& sheet, PageLook look, const std::optional<Value>& data) {
    const auto style_of = [](const EmbeddedFile& style) {
        return "<style>" + std::string(style.content) + "</style>\n";
    };
    std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
    out += R"(<meta http-equiv="Content-Security-Policy" content=")" + policy_of(look) + "\">\n";
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
    out += "<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" content=\"no-referrer\">\n";
    out += "<title>" + html_text(sheet.title) + "</title>\n";
    out += look == PageLook::report ? style_of(drawings_style) + style_of(report_style) : style_of(sheet_style);
    out += "</head>\n";
    out += "<body class=\"" + std::string(class_of(look)) + "\">\n";
    if (look == PageLook::report) out += "<a class=\"skip\" href=\"#main\">Skip to the report</a>\n";
    out += "<main id=\"main\">\n" + (look == PageLook::report ? "" : std::string(sheet_tools)) + html_of(sheet) +
           "</main>\n";
    if (data) out += R"(<script type="application/json" id="data">)" + to_embedded_json(*data) + "</script>\n";
    if (look == PageLook::report) {
        out += "<script>" + std::string(chart_library.content) + "</script>\n";
        out += "<script>" + std::string(report_script.content) + "</script>\n";
    } else {
        out += "<script>" + std::string(sheet_script.content) + "</script>\n";
    }
    return out + "</body>\n</html>\n";
}

}  // namespace tools
