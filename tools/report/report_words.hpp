#pragma once
// Words and forms that the sections of the report and the two sheets share.
#include <optional>
#include <string>

#include "tools/report/dossier.hpp"
#include "tools/report/sheet.hpp"
#include "tools/text/words.hpp"

namespace tools {

/// The scenario's title, else its file.
std::string title_of(const Dossier& dossier);
/// "controller" or "device" -> how people call that end.
std::string name_of_end(const Dossier& dossier, const std::string& end);
/// The same without the words that both names begin with.
std::string short_name_of_end(const Dossier& dossier, const std::string& end);
/// "120 mm/s", the machine's reduced speed; empty without one.
std::string reduced_speed_of(const Dossier& dossier);
/// "pass" -> "PASS".
std::string word_of_verdict(const std::string& verdict);
Mark mark_of_verdict(const std::string& verdict);
/// "10 ms, 40 ms at both ends": cycle and watchdogs.
std::string settings_of_link(const Dossier& dossier);
/// The scenario's file as a command line names it, and which of its links where the dossier is of one of several.
std::string file_and_link_of(const Dossier& dossier);
/// No function is stated for guards that should have one.
bool link_only(const Dossier& dossier);
/// "integrity" -> "CRC": the measure as a technician reads it; anything else as it is.
std::string word_for_measure(const std::string& measure);
std::string word_for_outcome(const std::string& outcome);
Mark mark_of_outcome(const std::string& outcome);
std::string word_for_state(const std::string& state);
/// The command that repeats the run.
std::string repeat_of(const Dossier& dossier);
/// "2.000" for 2000 ms.
std::string seconds(std::optional<double> ms);
std::string or_dash(const std::string& text);
/// Whether a function was kept: "met", "NOT MET", "not shown", or "-" where none asks.
std::string word_for_met(const Value& met);
Mark mark_of_met(const Value& met);
/// "yes", "NO", or "-" for what is not there.
std::string yes_or_no(const Value& value);

}  // namespace tools
