// The matrix of errors and measures for programs.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tools/measures/measures_page.hpp"

namespace tools {
namespace {

using proto::Exchange;
using proto::Measure;
using sim::CoverCell;
using sim::MeasureCell;

Value described(const std::vector<sim::ErrorFinding::OfWay>& ways, std::optional<Measure> measure) {
    Value::List list;
    for (const sim::ErrorFinding::OfWay& each : ways)
        list.push_back(Value::Object{{"way", name_of(each.way)},
                                     {"trials", each.tally.trials},
                                     {"detected", measure ? each.tally.by(*measure) : each.tally.seen_by_any}});
    return list;
}

Value described(const MeasureCell& cell) {
    Value::Object marks, conditions;
    for (const sim::Source source : sim::sources) {
        marks.push_back({std::string(name_of(source)), Value::of(cell.published[static_cast<std::size_t>(source)])});
        const std::string_view condition = sim::condition_of(source, cell.error, cell.measure);
        if (!condition.empty()) conditions.push_back({std::string(name_of(source)), condition});
    }
    return Value::Object{{"error", name_of(cell.error)},
                         {"measure", name_of(cell.measure)},
                         {"exchange", word_for(cell.exchange)},
                         {"trials", cell.trials},
                         {"detected", cell.detected},
                         {"caught", caught_of(cell.detected, cell.trials)},
                         {"too_late", cell.late},
                         {"simulated", cell.simulated},
                         {"published", std::move(marks)},
                         {"conditions", std::move(conditions)},
                         {"agrees", Value::of(cell.agrees)},
                         {"why", Value::text_or_null(cell.why)},
                         {"ways", described(cell.ways, cell.measure)}};
}

Value described(const CoverCell& cell) {
    Value::Object seen;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (cell.tally.seen[i] != 0)
            seen.push_back({std::string(name_of(static_cast<Measure>(i))), cell.tally.seen[i]});
    return Value::Object{
        {"error", name_of(cell.error)},
        {"without", cell.without ? Value(name_of(*cell.without)) : Value()},
        {"exchange", word_for(cell.exchange)},
        {"trials", cell.tally.trials},
        {"detected", cell.tally.seen_by_any},
        {"harmless", cell.tally.harmless},
        {"too_late", cell.tally.late},
        {"missed", cell.tally.missed},
        {"as_in_table_2", cell.exchange == Exchange::polled ? Value(cell.tally.as_in_table_2) : Value()},
        {"seen_by", std::move(seen)},
        {"covered", cell.covered()},
        {"why", Value::text_or_null(cell.why)},
        {"ways", described(cell.ways, std::nullopt)}};
}

template <class Cell>
Value all_described(const std::vector<Cell>& cells) {
    Value::List list;
    for (const Cell& cell : cells) list.push_back(described(cell));
    return list;
}

}  // namespace

Value describe(const MeasuresFinding& finding) {
    const sim::MeasuresFound& found = finding.found;
    Value::List references;
    for (const sim::Source source : sim::sources)
        references.push_back(Value::Object{{"source", name_of(source)}, {"reference", sim::reference_of(source)}});
    return Value::Object{
        {"profile", Value::text_or_null(finding.profile)},
        {"file", Value::text_or_null(finding.file)},
        {"seed", finding.seed},
        {"trials", finding.trials},
        {"sound", found.sound},
        {"explained", found.explained()},
        {"cells", all_described(found.cells)},
        {"whole", all_described(found.whole)},
        {"without", all_described(found.without)},
        {"references", std::move(references)},
    };
}

}  // namespace tools
