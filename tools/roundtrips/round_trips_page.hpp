#pragma once
#include "tools/roundtrips/finding.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// For people: whether it was measured, the times, what was lost, own lateness, and how to put it to use.
Page page_of(const RoundTripFinding& found, Columns columns);
/// roundtrips.json.
Value describe(const RoundTripFinding& found);
/// Of the computer that answered.
Page page_of(const sim::AnswerOutcome& outcome, Columns columns);
Value describe(const sim::AnswerOutcome& outcome);

/// In one sentence, for page and sheet: what was measured, or why nothing was.
std::string sentence_of(const RoundTripFinding& found);
/// "MEASURED", ...
std::string word_of(RoundTripVerdict verdict);
/// What to look at where nothing came back; what to know about the times where something did. May be empty.
std::vector<std::string> remarks_of(const RoundTripFinding& found);

/// One row for each datagram that was sent, in order: at_ms, round_trip_ms (time on the line, empty where it was lost),
/// answered_after_ms, own_lateness_ms.
std::string csv_of(const sim::RoundTrips& trips);

}  // namespace tools
