#include "tools/report/report_words.hpp"

#include <array>
#include <cstdio>

#include "tools/text/look_up.hpp"
#include "tools/text/words.hpp"

namespace tools {

std::string title_of(const Dossier& dossier) {
    const std::string title = look_up_text(dossier.result, "title");
    return title.empty() ? look_up_text(dossier.result, "scenario") : title;
}

std::string name_of_end(const Dossier& dossier, const std::string& end) {
    const std::string name = look_up_text(dossier.plant, "ends", std::string_view(end));
    return name.empty() ? end : name;
}

std::string short_name_of_end(const Dossier& dossier, const std::string& end) {
    const std::string name = look_up_text(dossier.plant, "short_names", std::string_view(end));
    return name.empty() ? name_of_end(dossier, end) : name;
}

std::string reduced_speed_of(const Dossier& dossier) {
    const Value& speed = look_up(dossier.result, "machine", "reduced_mm_per_s");
    return is_null(speed) ? std::string() : scalar_text(speed) + " mm/s";
}

Mark mark_of_verdict(const std::string& verdict) {
    if (verdict == "pass") return Mark::running;
    if (verdict == "dangerous") return Mark::dangerous;
    if (verdict == "not-judged") return Mark::unknown;
    return Mark::stopped;
}

std::string word_of_verdict(const std::string& verdict) {
    if (verdict == "pass") return "PASS";
    if (verdict == "dangerous") return "DANGEROUS";
    if (verdict == "not-judged") return "NOT JUDGED";
    return "FAIL";
}

std::string settings_of_link(const Dossier& dossier) {
    const std::string controller = tenths(look_up(dossier.plant, "watchdog_ms", "controller"), Rounding::down),
                      device = tenths(look_up(dossier.plant, "watchdog_ms", "device"), Rounding::down);
    std::string cycle;
    for (const Value& line : look_up_list(dossier.plant, "typed"))
        if (look_up_text(line, "what") == "cycle") cycle = look_up_text(line, "controller");
    return cycle + ", " + controller + (controller == device ? "" : " and " + device) + " ms";
}

std::string file_and_link_of(const Dossier& dossier) {
    const std::string link = look_up_text(dossier.result, "link");
    return look_up_text(dossier.result, "scenario") + (link.empty() ? "" : " --link " + shell_word(link));
}

bool link_only(const Dossier& dossier) {
    const Value::List& functions = look_up_list(dossier.result, "functions");
    return !functions.empty() && !look_up(functions.front(), "stated").is_true();
}

std::string word_for_measure(const std::string& measure) {
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (const auto m = static_cast<proto::Measure>(i); name_of(m) == measure) return std::string(word_for(m));
    return measure;
}

std::string word_for_outcome(const std::string& outcome) {
    for (const sim::Outcome o : {sim::Outcome::safe_state, sim::Outcome::tolerated, sim::Outcome::no_effect,
                                 sim::Outcome::dangerous, sim::Outcome::not_fired, sim::Outcome::never_ran})
        if (name_of(o) == outcome) return std::string(word_for(o));
    return outcome;
}

Mark mark_of_outcome(const std::string& outcome) {
    if (outcome == "safe-state") return Mark::stopped;
    if (outcome == "tolerated" || outcome == "no-effect") return Mark::running;
    if (outcome == "dangerous") return Mark::dangerous;
    return Mark::unknown;
}

std::string word_for_state(const std::string& state) {
    for (const proto::State s : {proto::State::start_up, proto::State::running, proto::State::safe_state,
                                 proto::State::awaiting_acknowledgement})
        if (name_of(s) == state) return std::string(word_for(s));
    return state;
}

std::string repeat_of(const Dossier& dossier) {
    std::string command = "linkdrill run " + look_up_text(dossier.result, "scenario") + " --seed " +
                          scalar_text(look_up(dossier.result, "seed"));
    if (look_up_text(dossier.result, "mode") == "live") command += " --live";
    const std::string slower = scalar_text(look_up(dossier.result, "time_scale"));
    if (!slower.empty() && slower != "1") command += " --times-slower " + slower;
    return command;
}

std::string seconds(std::optional<double> ms) {
    if (!ms) return "-";
    std::array<char, 64> text{};
    std::snprintf(text.data(), text.size(), "%.3f", *ms / 1000.0);
    return text.data();
}

std::string or_dash(const std::string& text) { return text.empty() ? "-" : text; }

std::string word_for_met(const Value& met) {
    if (is_null(met)) return "-";
    if (met.text() == "not-shown") return "not shown";
    return met.is_true() ? "met" : "NOT MET";
}

Mark mark_of_met(const Value& met) {
    if (is_null(met)) return Mark::none;
    if (met.text() == "not-shown") return Mark::unknown;
    return met.is_true() ? Mark::running : Mark::dangerous;
}

std::string yes_or_no(const Value& value) {
    if (is_null(value)) return "-";
    return value.is_true() ? "yes" : "NO";
}

}  // namespace tools
