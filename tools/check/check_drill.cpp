#include "tools/check/check_drill.hpp"

#include <algorithm>
#include <filesystem>

#include "sim/reading/read_drill.hpp"
#include "sim/scenario/units.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/words.hpp"
#include "tools/program/file_failure.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

struct Shown {
    std::string name, state;  ///< state and cause are those of an end that has its supply
    bool dark = false;
    std::string cause;  ///< "" without one
    std::uint64_t per_second = 0;
    std::vector<std::pair<std::string, std::uint64_t>> rejected;  ///< by measure, those that moved
};

/// One link: both ends, and whether it asks to be acknowledged.
struct LinkShown {
    std::string name;
    Shown controller, device;
    bool request = false;
};

struct DrillFound {
    const sim::Drill* drill = nullptr;
    std::size_t variant = 0;       ///< 1.., 0: the drill as it is written
    std::vector<LinkShown> links;  ///< one, or all of a plant with several
    bool moves = false, request = false;
    std::vector<sim::Promise> promises;
    [[nodiscard]] std::size_t broken() const {
        return static_cast<std::size_t>(
            std::count_if(promises.begin(), promises.end(), [](const sim::Promise& one) { return !one.kept; }));
    }
};

Shown shown_at(const sim::Bench& bench, sim::End end) {
    const sim::Panel panel = bench.panel(end);
    Shown shown{panel.name,
                std::string(sim::id_of(panel.state)),
                panel.dark,
                panel.cause ? std::string(sim::id_of(*panel.cause)) : "",
                panel.received_per_second,
                {}};
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (panel.counters.rejected[i] > 0)
            shown.rejected.emplace_back(proto::name_of(static_cast<proto::Measure>(i)), panel.counters.rejected[i]);
    return shown;
}

DrillFound found_in(const sim::Drill& drill, std::size_t variant) {
    const auto bench = sim::bench_of(drill, drill.scenario.seed);
    std::vector<LinkShown> links;
    for (std::size_t i = 0; i < bench->links(); ++i) {
        const sim::Bench& link = bench->of_link(i);
        links.push_back({link.link_name(), shown_at(link, sim::End::controller), shown_at(link, sim::End::device),
                         link.panel(sim::End::controller).asks_for_acknowledgement});
    }
    return {&drill,
            variant,
            std::move(links),
            bench->anything_moves(),
            bench->asks_for_acknowledgement(),
            sim::promises_of(drill, *bench)};
}

/// The drill and its variants.
void find_in(const sim::Drill& drill, std::vector<DrillFound>& all) {
    all.push_back(found_in(drill, 0));
    for (std::size_t i = 0; i < drill.variants.size(); ++i) all.push_back(found_in(drill.variants[i], i + 1));
}

/// Of the key, or of the nearest table around it that is written.
int line_of(const sim::Drill& drill, const sim::Promise& promise) {
    const auto& lines = drill.expect.lines;
    for (std::string key = promise.key; !key.empty();) {
        if (const auto found = lines.find(key); found != lines.end()) return found->second;
        const std::size_t dot = key.rfind('.');
        key = dot == std::string::npos ? std::string() : key.substr(0, dot);
    }
    const auto table = lines.find("");
    return table != lines.end() ? table->second : 0;
}

std::string mend_of(const sim::Promise& promise) {
    return "change [scenario] so that it shows this, or the promise: " + promise.as_seen;
}

std::string where(const DrillFound& found, const sim::Promise& promise) {
    return found.drill->file + ":" + std::to_string(line_of(*found.drill, promise)) + ": expect." + promise.key;
}

std::string in_words(const Shown& end) {
    if (end.dark) return "dark, it has no supply";
    std::string text = end.state + ", " + (end.cause.empty() ? "no cause" : end.cause) + "; receives " +
                       std::to_string(end.per_second) + " a second; ";
    std::string rejected;
    for (const auto& [measure, count] : end.rejected)
        rejected += (rejected.empty() ? "" : ", ") + std::to_string(count) + " by " + measure;
    return text + (rejected.empty() ? "rejected nothing" : "rejected " + rejected);
}

void show_one(Page& page, const DrillFound& found) {
    page.blank();
    page.line("What it shows when the trainee comes, after " + sim::written(found.drill->comes_after));
    for (const LinkShown& link : found.links) {
        const std::string of = link.name.empty() ? "" : ", " + plain(link.name);
        for (const Shown* const end : {&link.controller, &link.device})
            page.paragraph_at(8, "    " + plain(end->name) + of + ": ", in_words(*end));
    }
    page.line(std::string("    The machine ") + (found.moves ? "moves." : "stands still."));
    page.line(std::string("    An acknowledgement is ") + (found.request ? "asked for." : "not asked for."));
    page.blank();
    page.line("Promises");
    for (const sim::Promise& one : found.promises)
        if (one.kept) page.paragraph_at(8, "    kept    ", one.key + ": " + plain(one.promised));
}

void show_broken(Page& page, const DrillFound& found) {
    for (const sim::Promise& one : found.promises) {
        if (one.kept) continue;
        page.paragraph_at(8, "    BROKEN  ", where(found, one) + ": " + plain(one.broken) + ".");
        page.paragraph_at(8, "        mend: ", mend_of(one));
    }
}

Value described(const Shown& end) {
    Value::List rejected;
    for (const auto& [measure, count] : end.rejected)
        rejected.push_back(Value::Object{{"measure", measure}, {"count", count}});
    Value::Object shown{{"name", end.name},
                        {"state", end.state},
                        {"cause", Value::text_or_null(end.cause)},
                        {"received_per_second", end.per_second},
                        {"rejected", std::move(rejected)}};
    if (end.dark) shown.push_back({"dark", true});
    return shown;
}

Value described(const DrillFound& found) {
    Value::List promises;
    for (const sim::Promise& one : found.promises)
        promises.push_back(Value::Object{{"key", "expect." + one.key},
                                         {"line", line_of(*found.drill, one)},
                                         {"promised", one.promised},
                                         {"shown", one.shown},
                                         {"kept", one.kept},
                                         {"mend", one.kept ? Value() : Value(mend_of(one))}});
    const LinkShown& in_question = found.links[found.links.size() > 1 ? found.drill->in_question : 0];
    Value::Object drill{{"file", found.drill->file},
                        {"number", found.drill->number},
                        {"title", found.drill->title},
                        {"variant", found.variant},
                        {"ok", found.broken() == 0},
                        {"comes_after_ms", found.drill->comes_after},
                        {"controller", described(in_question.controller)},
                        {"device", described(in_question.device)},
                        {"machine_moves", found.moves},
                        {"request", found.request},
                        {"promises", std::move(promises)}};
    if (found.links.size() > 1) {
        Value::List links;
        for (const LinkShown& link : found.links)
            links.push_back(Value::Object{{"name", link.name},
                                          {"controller", described(link.controller)},
                                          {"device", described(link.device)},
                                          {"request", link.request}});
        drill.push_back({"links", std::move(links)});
    }
    return drill;
}

Value document_of(const std::vector<DrillFound>& all, bool ok) {
    Value::List drills, problems;
    for (const DrillFound& found : all) {
        drills.push_back(described(found));
        for (const sim::Promise& one : found.promises)
            if (!one.kept) problems.emplace_back(where(found, one) + ": " + one.broken + "; " + mend_of(one));
    }
    return Value::Object{{"ok", ok},
                         {"kind", "drill"},
                         {"compared", 0},
                         {"signature", Value()},
                         {"differences", Value::List{}},
                         {"problems", std::move(problems)},
                         {"undetectable", Value::List{}},
                         {"cautions", Value::List{}},
                         {"drills", std::move(drills)}};
}

Finished finished(const std::vector<DrillFound>& all, Page page) {
    const bool ok = std::all_of(all.begin(), all.end(), [](const DrillFound& one) { return one.broken() == 0; });
    return {ok ? Status::done : Status::not_met, document_of(all, ok), std::move(page)};
}

std::string title_of(const DrillFound& found) {
    const std::string variant = found.variant == 0 ? "" : ", variant " + std::to_string(found.variant);
    return std::to_string(found.drill->number) + " " + plain(found.drill->title) + variant;
}

std::string counts_of(const DrillFound& found) {
    const std::size_t broken = found.broken();
    return broken == 0
               ? "all " + counted(found.promises.size(), "promise", "promises") + " kept."
               : std::to_string(broken) + " of " + counted(found.promises.size(), "promise", "promises") + " broken.";
}

}  // namespace

proto::Result<Finished, Failure> check_drill(const std::string& file, Columns columns) {
    const auto cards = sim::read_cards_of(std::filesystem::path(file).parent_path().string());
    if (!cards) return failure_of(cards.error());
    const auto drill = sim::read_drill(file, cards.value());
    if (!drill) return failure_of(drill.error());
    std::vector<DrillFound> all;
    find_in(drill.value(), all);
    Page page(columns);
    const auto worst = std::find_if(all.begin(), all.end(), [](const DrillFound& one) { return one.broken() > 0; });
    if (worst == all.end())
        page.headline("DRILL HOLDS", Hue::good, title_of(all.front()) + ": " + counts_of(all.front()));
    else
        page.headline("PROMISES BROKEN", Hue::danger, title_of(*worst) + ": " + counts_of(*worst));
    for (const DrillFound& found : all) {
        if (all.size() > 1) {
            page.blank();
            page.line(title_of(found));
        }
        show_one(page, found);
        show_broken(page, found);
    }
    return finished(all, std::move(page));
}

proto::Result<Finished, Failure> check_drills(const std::string& folder, Columns columns) {
    const auto set = sim::read_drills(folder);
    if (!set) return failure_of(set.error());
    std::vector<DrillFound> all;
    for (const sim::Drill& drill : set.value().drills) find_in(drill, all);
    const auto broken = static_cast<std::size_t>(
        std::count_if(all.begin(), all.end(), [](const DrillFound& one) { return one.broken() > 0; }));
    Page page(columns);
    if (broken == 0)
        page.headline(
            "DRILLS HOLD", Hue::good,
            plain(folder) + ": " + counted(set.value().drills.size(), "drill", "drills") + ", all promises kept.");
    else
        page.headline("PROMISES BROKEN", Hue::danger,
                      plain(folder) + ": in " + std::to_string(broken) + " of " +
                          counted(all.size(), "drill or variant", "drills and variants") + ".");
    page.blank();
    for (const DrillFound& found : all) {
        page.paragraph_at(8, found.broken() == 0 ? "    holds   " : "    BROKEN  ",
                          title_of(found) + ": " + counts_of(found));
        show_broken(page, found);
    }
    return finished(all, std::move(page));
}

}  // namespace tools
