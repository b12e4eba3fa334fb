#include "sim/reading/drill_expect.hpp"

#include "sim/training/words.hpp"

namespace sim {
namespace {

ExpectedEnd read_expected_end(Section section) {
    ExpectedEnd expected;
    expected.state =
        section.choice<proto::State>("state", {{"start-up", proto::State::start_up},
                                               {"running", proto::State::running},
                                               {"safe-state", proto::State::safe_state},
                                               {"awaiting-acknowledgement", proto::State::awaiting_acknowledgement}});
    expected.causes = section.texts("cause");
    check_words(section, "cause", expected.causes, cause_ids);
    expected.rejected = section.texts("rejected");
    std::vector<std::string> measures;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        measures.emplace_back(proto::name_of(static_cast<proto::Measure>(i)));
    holds(section, "rejected", KeyShape::texts(measures));
    for (const std::string& measure : expected.rejected)
        if (std::find(measures.begin(), measures.end(), measure) == measures.end())
            section.none_of("rejected", measure, measures);
    expected.receives = section.flag("receives");
    expected.dark = section.flag("dark").value_or(false);
    if (expected.dark && (expected.state || !expected.causes.empty()))
        section.say("dark", "shows no state and no cause; take state and cause away");
    section.finish();
    return expected;
}

/// Lines of what stands below a table, by key.
void note_lines(const Node& table, const std::string& above, std::map<std::string, int>& lines) {
    for (const Member& member : table.members) {
        lines[above + member.key] = member.value.line;
        note_lines(member.value, above + member.key + ".", lines);
    }
}

/// What one link shows.
void read_ends(Section& section, ExpectedShow& show) {
    if (auto end = section.table("controller")) show.ends[0] = read_expected_end(*end);
    if (auto end = section.table("device")) show.ends[1] = read_expected_end(*end);
    show.first = section.choice<End>("first", {{"controller", End::controller}, {"device", End::device}});
    show.request = section.flag("request").value_or(false);
}

/// Every link has a table; what one of them shows is no promise of the whole line.
void read_links(Section& section, const std::vector<std::string>& links, ExpectedShow& show) {
    for (const char* key : {"controller", "device", "first", "request", "neighbour_runs"})
        if (section.has(key))
            section.say(key, "is of one link in a plant with several; write it in [expect.link." + links.front() + "]");
    std::optional<Section> all = section.table("link");
    if (all) holds_any_name(*all);
    if (!all) return section.missing("link", "[expect.link." + links.front() + "]");
    for (const std::string& name : links) {
        show.links.emplace_back();
        std::optional<Section> one = all->table(name);
        if (!one) {
            all->missing(name, "[expect.link." + name + "]");
            continue;
        }
        read_ends(*one, show.links.back());
        one->finish();
    }
    all->finish();
}

}  // namespace

ExpectedShow read_expectation(Section section, const std::vector<std::string>& links) {
    ExpectedShow show;
    show.lines[""] = section.place().line;
    note_lines(section.node(), "", show.lines);
    if (links.empty()) {
        read_ends(section, show);
        show.neighbour_runs = section.flag("neighbour_runs");
    } else {
        read_links(section, links, show);
    }
    show.moves = section.flag("moves").value_or(false);
    show.signals_off = section.texts("signals_off");
    section.finish();
    return show;
}

}  // namespace sim
