#include "tools/campaign/trial_tables.hpp"

#include "proto/verdict.hpp"

namespace tools {
namespace {

constexpr const char* tables = R"(
CREATE TABLE campaign (made_by TEXT, scenario TEXT, contents TEXT, seed TEXT, model INTEGER, keep INTEGER,
                       trials INTEGER, shard INTEGER, shards INTEGER, kept INTEGER, dangerous INTEGER,
                       blocks_check INTEGER, summary_check INTEGER, tables_check INTEGER, whole_check INTEGER);
CREATE TABLE summary (content BLOB);
CREATE TABLE block (number INTEGER PRIMARY KEY, trials INTEGER, dangerous INTEGER, fingerprint INTEGER,
                    rows_check INTEGER, dangerous_check INTEGER);
CREATE TABLE trial (trial INTEGER PRIMARY KEY, fault INTEGER, way INTEGER, outcome INTEGER, starting INTEGER,
                    demand INTEGER, in_time INTEGER, started INTEGER, detected_by INTEGER, detected_end INTEGER,
                    detect_ns INTEGER, safe_state_ns INTEGER, standstill_ns INTEGER, allowed_ns INTEGER,
                    exchanges INTEGER, cycles INTEGER, spurious_trips INTEGER, digest INTEGER,
                    functions_met INTEGER, functions_not_met INTEGER, functions_not_shown INTEGER,
                    demand_reduced_ns INTEGER, demand_stands_ns INTEGER);
CREATE TABLE dangerous (trial INTEGER PRIMARY KEY, fault INTEGER, why TEXT);
CREATE TABLE way_name (number INTEGER PRIMARY KEY, name TEXT, error TEXT);
CREATE TABLE outcome_name (number INTEGER PRIMARY KEY, name TEXT);
CREATE TABLE measure_name (number INTEGER PRIMARY KEY, name TEXT);
CREATE VIEW trials AS
    SELECT trial, trial.fault + 1 AS fault, way_name.error AS error, way_name.name AS way, outcome_name.name AS outcome,
           CASE starting WHEN 1 THEN 'starting' ELSE 'running' END AS phase, demand, in_time,
           measure_name.name AS detected_by,
           CASE detected_end WHEN 0 THEN 'controller' WHEN 1 THEN 'device' END AS detected_end,
           detect_ns / 1e6 AS detect_ms, safe_state_ns / 1e6 AS safe_state_ms, standstill_ns / 1e6 AS standstill_ms,
           allowed_ns / 1e6 AS allowed_ms, exchanges, cycles, functions_met, functions_not_met, functions_not_shown,
           demand_reduced_ns / 1e6 AS demand_reduced_ms, demand_stands_ns / 1e6 AS demand_stands_ms, why
    FROM trial JOIN way_name ON way_name.number = way JOIN outcome_name ON outcome_name.number = outcome
         LEFT JOIN measure_name ON measure_name.number = detected_by LEFT JOIN dangerous USING (trial);
)";

std::string row(const char* table, std::uint64_t number, std::string_view name, std::string_view more = {}) {
    std::string text =
        std::string("INSERT INTO ") + table + " VALUES (" + std::to_string(number) + ",'" + std::string(name) + "'";
    if (!more.empty()) text += ",'" + std::string(more) + "'";
    return text + ");\n";
}

}  // namespace

std::string trial_tables() {
    static_assert(static_cast<int>(proto::End::controller) == 0 && static_cast<int>(proto::End::device) == 1);
    std::string text = tables;
    for (std::uint64_t n = 0; n < trial_ways; ++n) {
        const auto way = static_cast<sim::FaultWay>(n);
        const sim::ErrorKind error = sim::error_of(way);
        text +=
            row("way_name", n, sim::name_of(way), error == sim::ErrorKind::none ? "of an end" : sim::name_of(error));
    }
    for (std::uint64_t n = 0; n < trial_outcomes; ++n)
        text += row("outcome_name", n, sim::name_of(static_cast<sim::Outcome>(n)));
    for (unsigned n = 0; n < proto::measure_count; ++n)
        text += row("measure_name", n, proto::name_of(static_cast<proto::Measure>(n)));
    return text;
}

}  // namespace tools
