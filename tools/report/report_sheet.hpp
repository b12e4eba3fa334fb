#pragma once
// The report of a run, or of a whole dossier, as a sheet; and the data of its charts.
#include "tools/report/dossier.hpp"
#include "tools/report/sheet.hpp"

namespace tools {

/// Sections in this order: verdict and functions, the plant with what was found where, dangers, cautions, what is left
/// to do, plant, settings, injections, guards, time line, reaction times, response and distance, watchdog, residual
/// error, errors and measures, how to repeat it, words.
Sheet report_of(const Dossier& dossier);

/// The same of a cell: verdict, functions, the plant, links, dangers, injections, guards, campaign, cautions, what is
/// left to do, plant, response, then each link with its settings, time line and what was reckoned of it; how to repeat
/// it, words.
Sheet report_of_cell(const Dossier& dossier);

/// What the page's script draws: one member per chart. Those of a cell's other links stand under "also".
Value chart_data_of(const Dossier& dossier);

// ---- its parts, each adding its sections ----
void add_head(Sheet& sheet, const Dossier& dossier);       ///< 0 to 4
void add_settings(Sheet& sheet, const Dossier& dossier);   ///< 5
void add_run(Sheet& sheet, const Dossier& dossier);        ///< 6 to 9, by way of:
void add_guards(Sheet& sheet, const Dossier& dossier);     ///< 7
void add_time_line(Sheet& sheet, const Dossier& dossier);  ///< 8
void add_reckoned(Sheet& sheet, const Dossier& dossier);   ///< 10 and 11
void add_errors(Sheet& sheet, const Dossier& dossier);     ///< 12 and 13
void add_end(Sheet& sheet, const Dossier& dossier);        ///< 14 and 15

// ---- of them, for one link of a cell ----
void add_response(Sheet& sheet, const Dossier& dossier);
void add_watchdog(Sheet& sheet, const Dossier& dossier);          ///< with the years of an endurance test
void add_residual_of_link(Sheet& sheet, const Dossier& dossier);  ///< nothing where it was not reckoned
void add_of_profile(Sheet& sheet, const Dossier& dossier);        ///< what was reckoned of its telegrams, if it was
void add_cautions(Sheet& sheet, const Dossier& dossier);
/// Of a cell, or of a link of one: verdict and trials, and times by error; nothing where no campaign was run.
void add_campaign(Sheet& sheet, const Dossier& dossier);
/// "DANGEROUS, 20 trials, 3 dangerous, 0 late."; empty without one.
std::string campaign_in_words(const Value& campaign);

/// In 9: what the run showed of values in the payload; nothing where there are none.
void add_values(Sheet& sheet, const Dossier& dossier);
/// What each function came to, near the top; nothing where none is stated.
void add_functions(Sheet& sheet, const Dossier& dossier);
/// The plant, and what was found at which part of it; nothing where the documents have no drawing.
void add_plant(Sheet& sheet, const Dossier& dossier);
/// For the script: the drawing as in plant.json, and by its lists what to mark, in words, and where that leads to.
Value plant_data_of(const Dossier& dossier);

}  // namespace tools
