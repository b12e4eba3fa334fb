#include "tools/check/cell_check.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_check.hpp"
#include "tools/check/check_page.hpp"
#include "tools/check/check_tables.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::CellCheck;
using sim::WholeCell;

/// What was said of the links one after the other, each with its name, then of the whole.
std::vector<std::string> all_of(const WholeCell& cell, const CellCheck& check,
                                std::vector<std::string> sim::CrossCheck::*of_link,
                                const std::vector<std::string>& of_functions, const std::vector<std::string>& of_cell) {
    std::vector<std::string> all;
    const auto says = [&](const sim::CrossCheck& ends, const std::string& what) {
        return std::find((ends.*of_link).begin(), (ends.*of_link).end(), what) != (ends.*of_link).end();
    };
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const std::string& one : check.ends[i].*of_link) {
            const auto all_say = std::all_of(check.ends.begin(), check.ends.end(),
                                             [&](const sim::CrossCheck& ends) { return says(ends, one); });
            if (all_say && i == 0) all.push_back("each link: " + one);
            if (!all_say) all.push_back("link " + cell.links[i].name + ": " + one);
        }
    all.insert(all.end(), of_functions.begin(), of_functions.end());
    all.insert(all.end(), of_cell.begin(), of_cell.end());
    return all;
}

std::vector<std::string> problems_of(const WholeCell& cell, const CellCheck& check) {
    return all_of(cell, check, &sim::CrossCheck::problems, check.functions.problems, check.problems);
}
std::vector<std::string> cautions_of(const WholeCell& cell, const CellCheck& check) {
    return all_of(cell, check, &sim::CrossCheck::cautions, check.functions.cautions, check.cautions);
}
std::vector<std::string> undetectable_of(const WholeCell& cell, const CellCheck& check) {
    return all_of(cell, check, &sim::CrossCheck::undetectable, {}, {});
}

Value::List settings_of(const WholeCell& cell, const CellCheck& check) {
    Value::List all;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (Value& one : describe_settings(check.ends[i], cell.links[i].name)) all.push_back(std::move(one));
    return all;
}

Value describe(const WholeCell& cell, const CellCheck& check, bool all_settings) {
    Value::List differences, links;
    std::uint64_t compared = 0;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::CrossCheck& ends = check.ends[i];
        for (Value& one : describe_differences(ends, cell.links[i].name)) differences.push_back(std::move(one));
        compared += ends.compared;
        Value::Object link{{"name", cell.links[i].name},
                           {"compared", ends.compared},
                           {"differ", std::uint64_t{ends.differences.size()}},
                           {"signature", ends.signature ? Value(sim::written_hex(*ends.signature, 8)) : Value()}};
        add_network(link, ends);
        links.push_back(std::move(link));
    }
    Value::Object document{{"ok", check.ok()},
                           {"kind", "cell"},
                           {"compared", compared},
                           {"signature", Value()},
                           {"links", std::move(links)},
                           {"differences", std::move(differences)},
                           {"functions", describe_guards(check.functions)},
                           {"problems", Value::list_of(problems_of(cell, check))},
                           {"undetectable", Value::list_of(undetectable_of(cell, check))},
                           {"cautions", Value::list_of(cautions_of(cell, check))}};
    if (all_settings) document.push_back({"settings", settings_of(cell, check)});
    return document;
}

void links_on(Page& page, const WholeCell& cell, const CellCheck& check) {
    page.blank();
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::CrossCheck& ends = check.ends[i];
        const EndNames names = full_names(cell.links[i].alone);
        std::string text = names.controller + " <-> " + names.device + ": " +
                           counted(ends.compared, "setting", "settings") + " compared, " +
                           std::to_string(ends.differences.size()) +
                           (ends.differences.size() == 1 ? " differs." : " differ.");
        if (ends.apart) text += " THE LINK NEVER STARTS.";
        text += not_all(ends);
        if (ends.signature) text += " Parameter signature " + sim::written_hex(*ends.signature, 8) + ".";
        page.paragraph_at(6, "Link " + plain(cell.links[i].name) + "  ", text);
        if (ends.differences.empty()) continue;
        differences_on(page, ends, names);
        page.blank();
    }
}

Page page_of(const WholeCell& cell, const CellCheck& check, bool all_settings, Columns columns) {
    Page page(columns);
    std::uint64_t compared = 0, differ = 0;
    for (const sim::CrossCheck& ends : check.ends) {
        compared += ends.compared;
        differ += ends.differences.size();
    }
    const std::vector<std::string> problems = problems_of(cell, check);
    const std::string title = plain(cell.title) + ": " + counted(cell.links.size(), "link", "links") + ", " +
                              counted(compared, "setting", "settings") + " compared, " + grouped(differ) +
                              (differ == 1 ? " differs." : " differ.");
    const bool apart = std::any_of(check.ends.begin(), check.ends.end(),
                                   [](const sim::CrossCheck& ends) { return ends.apart && !ends.apart->arrives; });
    if (apart)
        page.headline("ENDS APART", Hue::danger, title);
    else if (differ != 0)
        page.headline("ENDS DISAGREE", Hue::danger, title);
    else if (problems.empty())
        page.headline("ENDS AGREE", Hue::good, title);
    else
        page.headline("ENDS AGREE, BUT", Hue::danger, title);
    links_on(page, cell, check);
    for (std::size_t i = 0; all_settings && i < cell.links.size(); ++i)
        settings_table(page, check.ends[i], full_names(cell.links[i].alone), cell.links[i].name);
    guards_table(page, check.functions);
    sentences_on(page, "Problems", problems);
    sentences_on(page, "Reckoned with", check.functions.reckoned);
    sentences_on(page, "No measure of a link sees", undetectable_of(cell, check));
    sentences_on(page, "Cautions", cautions_of(cell, check));
    return page;
}

}  // namespace

proto::Result<Finished, Failure> check_cell(const GivenFile& file, bool all_settings, Columns columns) {
    const auto cell = file.cell();
    if (!cell) return cell.error();
    const CellCheck check = sim::check_cell(cell.value());
    return Finished{check.ok() ? Status::done : Status::not_met, describe(cell.value(), check, all_settings),
                    page_of(cell.value(), check, all_settings, columns)};
}

}  // namespace tools
