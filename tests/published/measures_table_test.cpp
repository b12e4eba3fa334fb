// The published matrices as the program has them, against a second writing of them: for each error the measures that
// are marked. IEC 62541-15 (release 1.05.04), Table 2; IEC 61784-3 (edition 2), Table 1, from memory; EN 50159:2010,
// Table 1, whose marked pairs are public and whose columns are from memory.
#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "sim/measures/study.hpp"

namespace {

using sim::ErrorKind;
using sim::Source;
using enum proto::Measure;

struct Marked {
    Source source;
    ErrorKind error;
    std::vector<proto::Measure> marked;
    std::vector<proto::Measure> nothing = {};  ///< no such column, or only under a condition
};

const std::vector<Marked> written_again{
    {Source::iec_62541_15, ErrorKind::corruption, {integrity}},
    {Source::iec_62541_15, ErrorKind::repetition, {sequence, time_expectation, feedback}},
    {Source::iec_62541_15, ErrorKind::incorrect_sequence, {sequence}},
    {Source::iec_62541_15, ErrorKind::loss, {sequence, time_expectation, feedback}},
    {Source::iec_62541_15, ErrorKind::delay, {time_expectation, feedback}},
    {Source::iec_62541_15, ErrorKind::insertion, {sequence}},
    {Source::iec_62541_15, ErrorKind::masquerade, {sequence, authentication, integrity}},
    {Source::iec_62541_15, ErrorKind::addressing, {authentication}},
    {Source::iec_61784_3, ErrorKind::corruption, {feedback, integrity}, {cross_check}},
    {Source::iec_61784_3, ErrorKind::repetition, {sequence, time_stamp, cross_check}},
    {Source::iec_61784_3, ErrorKind::incorrect_sequence, {sequence, time_stamp, cross_check}},
    {Source::iec_61784_3, ErrorKind::loss, {sequence, feedback, cross_check}},
    {Source::iec_61784_3, ErrorKind::delay, {time_stamp, time_expectation}},
    {Source::iec_61784_3, ErrorKind::insertion, {sequence, authentication, feedback, cross_check}},
    {Source::iec_61784_3, ErrorKind::masquerade, {feedback, different_integrity}, {authentication}},
    {Source::iec_61784_3, ErrorKind::addressing, {authentication}},
    {Source::en_50159, ErrorKind::corruption, {integrity}},
    {Source::en_50159, ErrorKind::repetition, {sequence, time_stamp}},
    {Source::en_50159, ErrorKind::incorrect_sequence, {sequence, time_stamp}},
    {Source::en_50159, ErrorKind::loss, {sequence}},
    {Source::en_50159, ErrorKind::delay, {time_stamp, time_expectation}},
    {Source::en_50159, ErrorKind::insertion, {sequence, authentication}, {feedback}},
    {Source::en_50159, ErrorKind::masquerade, {}, {feedback}},
};

bool has(const std::vector<proto::Measure>& some, proto::Measure measure) {
    return std::find(some.begin(), some.end(), measure) != some.end();
}

bool has_column(Source source, proto::Measure measure) {
    switch (source) {
        case Source::iec_62541_15:
            return measure != time_stamp && measure != cross_check && measure != different_integrity;
        case Source::iec_61784_3: return true;
        case Source::en_50159: return measure != cross_check && measure != different_integrity;
    }
    return false;
}

TEST_CASE("published marks: a second writing of the three tables agrees with the first") {
    for (const Marked& row : written_again)
        for (unsigned i = 0; i < proto::measure_count; ++i) {
            const auto measure = static_cast<proto::Measure>(i);
            INFO(std::string(name_of(row.source)), ", ", std::string(name_of(row.error)), ", ",
                 std::string(proto::name_of(measure)));
            const auto mark = sim::published(row.source, row.error, measure);
            if (!has_column(row.source, measure) || has(row.nothing, measure))
                CHECK_FALSE(mark.has_value());
            else
                CHECK(mark == has(row.marked, measure));
        }
}

TEST_CASE("published marks: EN 50159 has no row for addressing, and conditions are said in words") {
    for (unsigned i = 0; i < proto::measure_count; ++i)
        CHECK_FALSE(sim::published(Source::en_50159, ErrorKind::addressing, static_cast<proto::Measure>(i)));
    CHECK(sim::condition_of(Source::iec_61784_3, ErrorKind::insertion, authentication) ==
          "identifies an invalid sender only");
    CHECK(sim::condition_of(Source::iec_61784_3, ErrorKind::corruption, cross_check) == "on serial buses only");
    CHECK(sim::condition_of(Source::en_50159, ErrorKind::insertion, feedback) == "depends on the application");
    CHECK(sim::condition_of(Source::iec_62541_15, ErrorKind::corruption, integrity).empty());
    for (const Source source : {Source::iec_61784_3, Source::en_50159})
        CHECK(sim::reference_of(source).find("from memory") != std::string_view::npos);
}

}  // namespace
