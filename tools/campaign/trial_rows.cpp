#include "tools/campaign/trial_rows.hpp"

#include "sim/scenario/errors.hpp"
#include "tools/campaign/trial_tables.hpp"

namespace tools {
namespace {

std::optional<std::int64_t> ns_of(const std::optional<sim::Duration>& time) {
    if (!time) return std::nullopt;
    return time->ns;
}

template <class Enum>
std::optional<std::int64_t> number_of(const std::optional<Enum>& value) {
    if (!value) return std::nullopt;
    return static_cast<std::int64_t>(*value);
}

}  // namespace

TrialRow row_of(const sim::TrialRecord& record) {
    const auto flag = [](bool value) { return std::int64_t{value ? 1 : 0}; };
    return {static_cast<std::int64_t>(record.trial),
            std::int64_t{record.fault},
            static_cast<std::int64_t>(record.way),
            static_cast<std::int64_t>(record.outcome),
            static_cast<std::int64_t>(record.phase),
            flag(record.demand),
            flag(record.in_time),
            flag(record.started),
            number_of(record.detected_by),
            number_of(record.detected_end),
            ns_of(record.detect),
            ns_of(record.safe_state),
            ns_of(record.standstill),
            ns_of(record.allowed),
            std::int64_t{record.exchanges},
            std::int64_t{record.cycles},
            std::int64_t{record.spurious},
            static_cast<std::int64_t>(record.digest),
            static_cast<std::int64_t>(record.functions_met),
            static_cast<std::int64_t>(record.functions_not_met),
            static_cast<std::int64_t>(record.functions_not_shown),
            ns_of(record.demand_reduced),
            ns_of(record.demand_stands)};
}

std::optional<sim::TrialRecord> record_from(const Database::Statement& row, std::size_t faults) {
    sim::TrialRecord record;
    bool right = true;
    const auto within = [&](int column, std::uint64_t below) {
        const auto value = static_cast<std::uint64_t>(row.number(column));
        right = right && value < below;
        return value;
    };
    const auto time = [&](int column) -> std::optional<sim::Duration> {
        if (row.is_null(column)) return std::nullopt;
        return sim::Duration{row.number(column)};
    };
    record.trial = static_cast<std::uint64_t>(row.number(0));
    record.fault = static_cast<std::uint32_t>(within(1, faults));
    record.way = static_cast<sim::FaultWay>(within(2, trial_ways));
    record.outcome = static_cast<sim::Outcome>(within(3, trial_outcomes));
    record.phase = static_cast<sim::TrialPhase>(within(4, 2));
    record.demand = within(5, 2) == 1;
    record.in_time = within(6, 2) == 1;
    record.started = within(7, 2) == 1;
    if (!row.is_null(8)) record.detected_by = static_cast<proto::Measure>(within(8, proto::measure_count));
    if (!row.is_null(9)) record.detected_end = static_cast<proto::End>(within(9, 2));
    record.detect = time(10);
    record.safe_state = time(11);
    record.standstill = time(12);
    record.allowed = time(13);
    record.exchanges = static_cast<std::uint32_t>(row.number(14));
    record.cycles = static_cast<std::uint32_t>(row.number(15));
    record.spurious = static_cast<std::uint32_t>(row.number(16));
    record.digest = static_cast<std::uint64_t>(row.number(17));
    record.functions_met = static_cast<std::uint64_t>(row.number(18));
    record.functions_not_met = static_cast<std::uint64_t>(row.number(19));
    record.functions_not_shown = static_cast<std::uint64_t>(row.number(20));
    record.demand_reduced = time(21);
    record.demand_stands = time(22);
    if (!right) return std::nullopt;
    return record;
}

std::string insert_trials(std::size_t rows) {
    std::string text = "INSERT INTO trial VALUES ";
    for (std::size_t row = 0; row < rows; ++row) {
        text += row == 0 ? "(?" : ",(?";
        for (std::size_t column = 1; column < trial_columns; ++column) text += ",?";
        text += ')';
    }
    return text;
}

}  // namespace tools
