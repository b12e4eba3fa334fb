#pragma once
#include <optional>
#include <string>

#include "tools/report/sheet.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// How a sheet looks when it is a page of its own.
enum class PageLook : unsigned char {
    report,     ///< with charts: the script and the library are in it
    portrait,   ///< a sheet to print on A4, or to fill in and save: its script puts what is typed into the page
    landscape,  ///< the same across
};

/// One HTML file that needs no other: styles, scripts and data are inside, and its content security policy lets nothing
/// else run and nothing out. Works from a folder as from a server.
std::string html_page(const Sheet& sheet, PageLook look, const std::optional<Value>& data = std::nullopt);

}  // namespace tools
