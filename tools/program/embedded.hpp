#pragma once
// Files that are built into the program: style sheets and scripts of what it writes as HTML.
#include <string_view>

namespace tools {

struct EmbeddedFile {
    std::string_view content;
    std::string_view hash;  ///< as a content security policy names it: sha256-... in base64
};

// Made at build time by tools/program/embed.cmake.
extern const EmbeddedFile chart_library;  ///< Chart.js, of Debian's package libjs-chart.js
extern const EmbeddedFile report_script;
extern const EmbeddedFile report_style;
extern const EmbeddedFile sheet_style;
extern const EmbeddedFile training_page;  ///< of the trainee
extern const EmbeddedFile training_script;
extern const EmbeddedFile training_drawing;  ///< modules of the scripts
extern const EmbeddedFile training_bench;
extern const EmbeddedFile training_steps;
extern const EmbeddedFile training_debrief;
extern const EmbeddedFile training_keys;
extern const EmbeddedFile training_style;
extern const EmbeddedFile training_texts;  ///< every sentence of both pages
extern const EmbeddedFile instructor_page;
extern const EmbeddedFile instructor_script;

}  // namespace tools
