// Which measure sees which error, against IEC 62541-15 (release 1.05.04), Table 2: a polled telegram with sequence
// number, identifiers, CRC and a time-out with feedback. A time-out counts here as time expectation or feedback.
#include <doctest/doctest.h>

#include <array>
#include <set>
#include <string>
#include <vector>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Measure;
using proto::milliseconds;
using sim::ErrorKind;
using sim::Fault;
using sim::FaultWay;
using tests::fault_of;
using tests::lasting;
using tests::on;
using tests::Ways;

enum Column : std::size_t { number, time_out, identifiers, crc, columns };
constexpr std::array<const char*, columns> column_names{"sequence number", "time-out with feedback", "identifiers",
                                                        "CRC"};

struct PublishedRow {
    ErrorKind error;
    std::array<bool, columns> marked;
};

// IEC 62541-15, release 1.05.04, Table 2
constexpr PublishedRow table_2[] = {
    {ErrorKind::corruption, {false, false, false, true}},
    {ErrorKind::repetition, {true, true, false, false}},
    {ErrorKind::incorrect_sequence, {true, false, false, false}},
    {ErrorKind::loss, {true, true, false, false}},
    {ErrorKind::delay, {false, true, false, false}},
    {ErrorKind::insertion, {true, false, false, false}},
    {ErrorKind::masquerade, {true, false, true, true}},
    {ErrorKind::addressing, {false, false, true, false}},
};

/// A cell in which what is seen differs from what is marked, and why that is right.
struct Differing {
    ErrorKind error;
    Column column;
    bool seen;
    const char* reason;
};

constexpr Differing differences[] = {
    {ErrorKind::incorrect_sequence, time_out, true,
     "the controller judges an answer by the number that it feeds back: that is its feedback, too"},
    {ErrorKind::loss, number, false,
     "a polled link repeats under the same number until it is answered: no gap ever arrives, only the time runs out"},
    {ErrorKind::insertion, time_out, true, "a stray answer feeds a number back that was never asked"},
    {ErrorKind::insertion, identifiers, true,
     "a neighbour's telegram brings its own addresses, which are checked before the number"},
    {ErrorKind::masquerade, number, false,
     "the forgery here copies the current number: only the safety CRC betrays it"},
    {ErrorKind::masquerade, identifiers, false,
     "the forgery here copies the addresses: only the safety CRC betrays it"},
    {ErrorKind::addressing, number, true,
     "a misdirected telegram is one of another count: its number seldom fits here"},
    {ErrorKind::addressing, time_out, true, "the same at the controller, where the number is the feedback"},
};

std::vector<Fault> injections_of(ErrorKind error) {
    std::vector<Fault> faults;
    const auto each_way = [&faults](const Fault& fault) {
        faults.push_back(on(fault, Ways::out));
        faults.push_back(on(fault, Ways::back));
    };
    Fault fault;
    switch (error) {
        case ErrorKind::none: break;  // what fails at an end is no error of the way
        case ErrorKind::corruption:
            fault = fault_of(FaultWay::random_bits);
            fault.count = 3;
            fault.field = sim::TelegramField::payload;
            each_way(fault);
            break;
        case ErrorKind::repetition:
            fault = fault_of(FaultWay::beside);
            fault.back = 4;
            each_way(fault);
            break;
        case ErrorKind::incorrect_sequence:
            fault = fault_of(FaultWay::hold);
            fault.hold = milliseconds(90);
            each_way(fault);
            break;
        case ErrorKind::loss: each_way(lasting(fault_of(FaultWay::drop), milliseconds(300))); break;
        case ErrorKind::delay:
            fault = lasting(fault_of(FaultWay::step), milliseconds(300));
            fault.extra = milliseconds(120);
            each_way(fault);
            break;
        case ErrorKind::insertion:
            each_way(fault_of(FaultWay::neighbour));
            each_way(fault_of(FaultWay::stray));
            break;
        case ErrorKind::masquerade:
            each_way(fault_of(FaultWay::no_crc));
            each_way(fault_of(FaultWay::other_crc));
            break;
        case ErrorKind::addressing:
            each_way(fault_of(FaultWay::swap));
            each_way(fault_of(FaultWay::loop_back));
            break;
    }
    return faults;
}

std::array<bool, columns> cells_of(const sim::InjectionResult& seen) {
    proto::MeasureSet measures = seen.also_by;
    if (seen.detected_by) measures.add(*seen.detected_by);
    return {measures.has(Measure::sequence), measures.has(Measure::time_expectation) || measures.has(Measure::feedback),
            measures.has(Measure::authentication), measures.has(Measure::integrity)};
}

TEST_CASE("the measures that see each error meet IEC 62541-15, Table 2, or a reason is on file") {
    std::set<std::size_t> used;  // of the differences
    for (const PublishedRow& row : table_2) {
        std::array<bool, columns> seen_at_all{};
        for (const Fault& fault : injections_of(row.error)) {
            for (int phase = 0; phase < 20; ++phase) {
                sim::Scenario s = tests::polled_link();  // every measure: number, addresses, CRC, watchdog
                s.device_phase = proto::microseconds(500) * phase;
                s.faults = {fault};
                const auto result = sim::rehearse(s, 100 + static_cast<std::uint64_t>(phase));
                const sim::InjectionResult& seen = result.injections.front();
                INFO(sim::name_of(row.error), ", ", sim::name_of(fault.way), ", phase ", phase);
                CHECK(seen.detected_by.has_value());
                CHECK(seen.outcome == sim::Outcome::safe_state);
                const auto cells = cells_of(seen);
                bool meets = false;
                for (std::size_t c = 0; c < columns; ++c) {
                    seen_at_all[c] = seen_at_all[c] || cells[c];
                    meets = meets || (cells[c] && row.marked[c]);
                }
                // a neighbour's telegram is caught by its identifiers first; its number is told besides only by lot
                if (!(row.error == ErrorKind::insertion && fault.way == FaultWay::neighbour)) CHECK(meets);
            }
        }
        for (std::size_t c = 0; c < columns; ++c) {
            if (seen_at_all[c] == row.marked[c]) continue;
            bool explained = false;
            for (std::size_t d = 0; d < std::size(differences); ++d) {
                const Differing& one = differences[d];
                if (one.error != row.error || one.column != c || one.seen != seen_at_all[c]) continue;
                explained = std::string(one.reason).size() > 20;
                used.insert(d);
            }
            const std::string which = std::string(std::string(column_names[c])) +
                                      (seen_at_all[c] ? " seen, not marked" : " marked, not seen");
            CHECK_MESSAGE(explained, sim::name_of(row.error), ": ", which);
        }
    }
    CHECK(used.size() == std::size(differences));  // no difference that is none
}

}  // namespace
