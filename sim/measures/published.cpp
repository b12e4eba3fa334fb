#include "sim/measures/published.hpp"

#include "proto/contract.hpp"

namespace sim {
namespace {

using proto::Measure;

/// Columns in the order of IEC 61784-3.
constexpr std::array columns{Measure::sequence,       Measure::time_stamp,         Measure::time_expectation,
                             Measure::authentication, Measure::feedback,           Measure::integrity,
                             Measure::cross_check,    Measure::different_integrity};

// + marked, - not marked, a marked: identifies an invalid sender only, b only if the application allows it,
// c only on serial buses, ? memory is unsure, . the source has no such row or column.
struct Row {
    ErrorKind error{};
    std::array<std::string_view, source_count> marks;  ///< by Source, a character for each of `columns`
};

// Sources: IEC 62541-15 (release 1.05.04), Table 2. IEC 61784-3 (edition 2), Table 1, from memory. EN 50159:2010,
// Table 1, rows as quoted in a public project deliverable, columns from memory.
constexpr Row rows[] = {
    {ErrorKind::corruption, {"-.---+..", "----++c-", "-----+.."}},
    {ErrorKind::repetition, {"+.+-+-..", "++----+-", "++----.."}},
    {ErrorKind::incorrect_sequence, {"+.----..", "++----+-", "++----.."}},
    {ErrorKind::loss, {"+.+-+-..", "+---+-+-", "+-----.."}},
    {ErrorKind::delay, {"-.+-+-..", "-++-----", "-++---.."}},
    {ErrorKind::insertion, {"+.----..", "+--a+-+-", "+--ab-.."}},
    {ErrorKind::masquerade, {"+.-+-+..", "---?+--+", "----b-.."}},
    {ErrorKind::addressing, {"-.-+--..", "---+----", "........"}},
};

char mark(Source source, ErrorKind error, Measure measure) {
    for (const Row& row : rows) {
        if (row.error != error) continue;
        for (std::size_t i = 0; i < columns.size(); ++i)
            if (columns[i] == measure) return row.marks[static_cast<std::size_t>(source)][i];
    }
    proto::contract_broken("no row or column of the published tables", __FILE__, __LINE__);
}

}  // namespace

std::string_view name_of(Source source) {
    switch (source) {
        case Source::iec_62541_15: return "IEC 62541-15";
        case Source::iec_61784_3: return "IEC 61784-3";
        case Source::en_50159: return "EN 50159";
    }
    return "?";
}

std::string_view reference_of(Source source) {
    switch (source) {
        case Source::iec_62541_15: return "IEC 62541-15, release 1.05.04, Table 2";
        case Source::iec_61784_3: return "IEC 61784-3, edition 2, Table 1, from memory";
        case Source::en_50159: return "EN 50159:2010, Table 1, columns from memory";
    }
    return "?";
}

std::optional<bool> published(Source source, ErrorKind error, Measure measure) {
    switch (mark(source, error, measure)) {
        case '+':
        case 'a': return true;
        case '-': return false;
        default: return std::nullopt;
    }
}

std::string_view condition_of(Source source, ErrorKind error, Measure measure) {
    switch (mark(source, error, measure)) {
        case 'a': return "identifies an invalid sender only";
        case 'b': return "depends on the application";
        case 'c': return "on serial buses only";
        case '?': return "unsure: from memory";
        default: return "";
    }
}

}  // namespace sim
