#pragma once
// Files that are built into the program: pages, and style sheets and scripts of what it writes as HTML.
#include <span>
#include <string_view>

namespace tools {

struct EmbeddedFile {
    std::string_view content;
    std::string_view hash;  ///< as a content security policy names it: sha256-... in base64
};

// Made at build time; tools/pages/embedding.cmake says of which files.
extern const EmbeddedFile chart_library;   ///< Chart.js, of Debian's package libjs-chart.js
extern const EmbeddedFile drawings_style;  ///< of the drawings that pages share
extern const EmbeddedFile report_script;
extern const EmbeddedFile report_style;
extern const EmbeddedFile sheet_script;
extern const EmbeddedFile sheet_style;
// tools/schema, of the documents that are read back
extern const EmbeddedFile acceptance_schema, campaign_schema, cell_schema, cell_plant_schema, endurance_schema,
    link_residual_schema, measures_schema, plant_schema, residual_schema, response_schema, result_schema,
    timeline_schema, watchdog_schema;

/// A file of the pages that are served over HTTP.
struct ServedFile {
    std::string_view path;  ///< below tools/: "/training/pages/training.js"
    std::string_view content;
};
/// All of them, scripts and styles as well as pages.
std::span<const ServedFile> served_files();

}  // namespace tools
