#include "sim/measures/cells.hpp"

#include <algorithm>
#include <span>

#include "sim/measures/by_design.hpp"
#include "sim/measures/reasons.hpp"

namespace sim {
namespace {

using proto::Exchange;
using proto::Measure;

enum class Setting : std::uint8_t { alone, whole };

void add_words(std::string& why, std::string_view words) {
    if (words.empty() || why.find(words) != std::string::npos) return;
    why += (why.empty() ? "" : "; ") + std::string(words);
}

MeasureCell cell_of(const ErrorFinding& found, Measure measure, Exchange exchange, Setting setting) {
    MeasureCell cell;
    cell.error = found.error;
    cell.measure = measure;
    cell.exchange = exchange;
    cell.trials = found.all.trials;
    cell.detected = found.all.by(measure);
    cell.late = found.all.late;
    cell.ways = found.ways;
    cell.simulated = setting == Setting::alone ? cell.detected == cell.trials : cell.detected != 0;
    // seen at times is no mark, but no nothing either
    const bool at_times = setting == Setting::alone && cell.detected != 0 && !cell.simulated;
    bool all_explained = true;
    const auto explain = [&](Reason::About about) {
        const Reason* reason = reason_for(about, found.error, measure, exchange);
        if (reason != nullptr)
            add_words(cell.why, reason->words);
        else
            all_explained = false;
    };
    for (const Source source : sources) {
        // a stream is not what Table 2 is about; a measure alone is compared with every mark
        if (source == Source::iec_62541_15 && setting == Setting::whole && exchange != Exchange::polled) continue;
        const std::optional<bool> mark = published(source, found.error, measure);
        cell.published[static_cast<std::size_t>(source)] = mark;
        if (!mark) continue;
        const bool same = *mark == cell.simulated;
        cell.agrees = cell.agrees.value_or(true) && same;
        if (!same || at_times) explain(*mark ? Reason::About::misses : Reason::About::sees);
    }
    cell.needs_reason = at_times || !cell.agrees.value_or(true);
    if (at_times && !cell.agrees) explain(Reason::About::sees);  // nothing published to differ from
    if (!all_explained) cell.why.clear();                        // one of several reasons would look like all of them
    return cell;
}

/// Whatever gets through a link must be what its settings let through by design.
CoverCell cover_of(const ErrorFinding& found, std::optional<Measure> left_out, const StudyLink& link) {
    CoverCell cell{found.error, left_out, link.exchange, found.all, {}, found.ways};
    if (cell.covered()) return cell;
    for (const Undetectable& each : undetectable_with(link.controller, link.other_traffic_crc))
        if (each.error == cell.error) add_words(cell.why, each.words);
    return cell;
}

/// A link, then the same without each of the measures that it can do without.
struct Family {
    StudyLink link;
    std::vector<Measure> left_out;
    std::vector<StudyLink> links;
};
Family family_of(const StudyLink& link) {
    Family family{link, {}, {link}};
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<Measure>(i);
        if (!can_do_without(link, measure)) continue;
        family.left_out.push_back(measure);
        family.links.push_back(without(link, measure));
    }
    return family;
}

void add_covers(const Family& family, std::span<const LinkFinding> findings, MeasuresFound& found) {
    for (const ErrorFinding& error : findings.front().errors)
        found.whole.push_back(cover_of(error, std::nullopt, family.link));
    for (std::size_t i = 0; i < family.left_out.size(); ++i)
        for (const ErrorFinding& error : findings[i + 1].errors)
            found.without.push_back(cover_of(error, family.left_out[i], family.links[i + 1]));
}

void note_soundness(const std::vector<LinkFinding>& findings, MeasuresFound& found) {
    found.sound = std::all_of(findings.begin(), findings.end(), [](const LinkFinding& f) { return f.sound(); });
}

}  // namespace

bool MeasuresFound::explained() const {
    const auto all = [](const auto& some) {
        return std::all_of(some.begin(), some.end(), [](const auto& cell) { return cell.explained(); });
    };
    return all(cells) && all(whole) && all(without);
}

MeasuresFound measures_one_by_one(const StudyEffort& effort) {
    std::vector<StudyLink> links;
    for (unsigned i = 0; i < proto::measure_count; ++i) links.push_back(with_only(static_cast<Measure>(i)));
    const Family every = family_of(with_every_measure());
    links.insert(links.end(), every.links.begin(), every.links.end());

    const std::vector<LinkFinding> findings = study(links, effort);
    MeasuresFound found;
    note_soundness(findings, found);
    for (std::size_t e = 0; e < study_error_count; ++e)
        for (unsigned i = 0; i < proto::measure_count; ++i)
            found.cells.push_back(
                cell_of(findings[i].errors[e], static_cast<Measure>(i), Exchange::streaming, Setting::alone));
    add_covers(every, std::span(findings).subspan(proto::measure_count), found);
    return found;
}

proto::Result<MeasuresFound, proto::SettingsError> measures_of(const proto::Profile& profile,
                                                               const StudyEffort& effort) {
    std::vector<Family> families;
    std::vector<StudyLink> links;
    std::optional<proto::SettingsError> why_not;
    for (const Exchange exchange : {Exchange::polled, Exchange::streaming}) {
        const auto link = link_of(profile, exchange);
        if (!link) {
            why_not = link.error();
            continue;
        }
        families.push_back(family_of(link.value()));
        links.insert(links.end(), families.back().links.begin(), families.back().links.end());
    }
    if (families.empty()) return *why_not;

    const std::vector<LinkFinding> findings = study(links, effort);
    MeasuresFound found;
    note_soundness(findings, found);
    std::span<const LinkFinding> rest(findings);
    for (const Family& family : families) {
        for (const ErrorFinding& error : rest.front().errors)
            for (unsigned i = 0; i < proto::measure_count; ++i)
                if (family.link.measures.has(static_cast<Measure>(i)))
                    found.cells.push_back(
                        cell_of(error, static_cast<Measure>(i), family.link.exchange, Setting::whole));
        add_covers(family, rest.first(family.links.size()), found);
        rest = rest.subspan(family.links.size());
    }
    return found;
}

}  // namespace sim
