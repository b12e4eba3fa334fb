#include "tools/roundtrips/round_trips_page.hpp"

#include <algorithm>

#include "sim/scenario/units.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::size_t indent = 12;  // "Own late    "

std::string spread_in_words(const sim::Spread& spread) {
    return "half within " + fine_ms(spread.median) + ", 99 of 100 within " + fine_ms(spread.p99) + ", the longest " +
           fine_ms(spread.max);
}

std::string seconds_into(proto::Duration at) { return "at " + in_s(at); }

std::string gaps_in_words(const std::vector<sim::Gap>& gaps) {
    const auto longest = std::max_element(gaps.begin(), gaps.end(),
                                          [](const sim::Gap& a, const sim::Gap& b) { return a.count < b.count; });
    return "in " + counted(gaps.size(), "gap", "gaps") + "; the longest " + grouped(longest->count) + " in a row, " +
           seconds_into(longest->from);
}

void figures(Page& page, const RoundTripFinding& found) {
    const sim::RoundTrips& trips = found.outcome.trips;
    const std::size_t longest = sim::longest_of(trips, 1).front();
    page.blank();
    page.paragraph_at(indent, "On the line ",
                      spread_in_words(*found.figures.line) + ", " + seconds_into(trips.sent[longest].at) + ".");
    page.paragraph_at(indent, "Answered    ",
                      "after " + spread_in_words(*found.figures.answered_after) + " at the other computer: taken off.");
    page.paragraph_at(indent, "Own late    ",
                      spread_in_words(*found.figures.own_lateness) + " from plan to sending: not in these times.");
    page.paragraph_at(
        indent, "Lost        ",
        found.gaps.empty() ? "none" : grouped(found.figures.lost) + " " + gaps_in_words(found.gaps) + ".");
    page.paragraph_at(
        indent, "Order       ",
        grouped(trips.reordered) + " after a later one, " + grouped(trips.duplicated) + " more than once.");
}

Hue hue_of(RoundTripVerdict verdict) { return verdict == RoundTripVerdict::measured ? Hue::good : Hue::caution; }

Value spread_value(const std::optional<sim::Spread>& spread) {
    const auto part = [&spread](proto::Duration sim::Spread::*which) {
        return spread ? Value((*spread).*which) : Value();
    };
    return Value::Object{
        {"median", part(&sim::Spread::median)}, {"p99", part(&sim::Spread::p99)}, {"max", part(&sim::Spread::max)}};
}

/// "not-measured".
std::string key_of(RoundTripVerdict verdict) {
    std::string key = word_of(verdict);
    for (char& letter : key) letter = letter == ' ' ? '-' : static_cast<char>(letter - 'A' + 'a');
    return key;
}

Value gaps_value(const std::vector<sim::Gap>& gaps) {
    constexpr std::size_t most = 1000;
    Value::List list;
    for (std::size_t i = 0; i < std::min(most, gaps.size()); ++i)
        list.push_back(Value::Object{{"first", std::uint64_t{gaps[i].first}},
                                     {"count", std::uint64_t{gaps[i].count}},
                                     {"from_ms", gaps[i].from},
                                     {"to_ms", gaps[i].to}});
    return list;
}

}  // namespace

std::string word_of(RoundTripVerdict verdict) {
    switch (verdict) {
        case RoundTripVerdict::measured: return "MEASURED";
        case RoundTripVerdict::not_measured: return "NOT MEASURED";
        case RoundTripVerdict::refused: return "REFUSED";
        case RoundTripVerdict::not_believed: return "NOT BELIEVED";
    }
    return "?";
}

std::string sentence_of(const RoundTripFinding& found) {
    const sim::RoundTripFigures& figures = found.figures;
    const std::string what = counted(figures.sent, "datagram", "datagrams") + " of " +
                             std::to_string(found.asked.bytes) + " bytes to " + found.asked.to.written() + ", one in " +
                             sim::written(found.asked.cycle);
    if (found.verdict == RoundTripVerdict::refused) return found.asked.to.written() + " answers somebody else.";
    if (!found.some())
        return what + (figures.lost == figures.sent ? ": nothing came back." : ": one came back, which is too few.");
    return what + ": " + grouped(figures.lost) + " lost, the longest round trip " + fine_ms(figures.line->max) + ".";
}

std::vector<std::string> remarks_of(const RoundTripFinding& found) {
    const sim::AskOutcome& outcome = found.outcome;
    const sim::RoundTrips& trips = outcome.trips;
    std::vector<std::string> remarks;
    const auto say = [&remarks](std::string text) { remarks.push_back(std::move(text)); };
    if (found.verdict == RoundTripVerdict::not_measured) {
        if (outcome.elsewhere)
            say("Answers came from " + written(*outcome.elsewhere) + ", which was not asked: ask that address.");
        say("Does linkdrill roundtrips --answer run there, at that address and port? An address that it binds must be "
            "one that is reached from here: 127.0.0.1 is this computer alone.");
        say("Does a firewall between here and there, or on either computer, let UDP through both ways?");
    }
    if (outcome.refused)
        say("Whoever answers serves one at a time: it is free as soon as the other one has ended, or was silent for " +
            sim::written(sim::asker_is_gone_after) + ". What it refused was not counted as lost.");
    if (found.verdict == RoundTripVerdict::not_believed)
        say("This computer was too late itself: " + belief_in_words() +
            ". Take a longer cycle, leave the computer alone meanwhile, or try --real-time.");
    if (trips.not_sent > 0)
        say(counted(trips.not_sent, "planned datagram was", "planned datagrams were") + " not sent, " +
            (outcome.not_sent_why.empty() ? "since this computer was late by a cycle or more: they are no losses."
                                          : "the first because of this: " + plain(outcome.not_sent_why) + "."));
    if (trips.after_wait > 0)
        say(counted(trips.after_wait, "answer took", "answers took") + " longer than " +
            sim::written(found.asked.wait) + "; with their true times.");
    if (trips.strangers > 0)
        say(counted(trips.strangers, "datagram was", "datagrams were") + " not part of this and dropped.");
    if (trips.unbelieved > 0)
        say(counted(trips.unbelieved, "answer claims", "answers claim") +
            " to have lain at the other computer for longer than it was away: nothing was taken off there.");
    if (outcome.dropped_here > 0)
        say(counted(outcome.dropped_here, "datagram", "datagrams") +
            " found no room at this computer, which read too late: some losses are its own.");
    if (outcome.clock_set > 0)
        say("The time of day was set " + counted(outcome.clock_set, "time", "times") +
            " meanwhile; an answer read at that moment may look later than it was.");
    if (!outcome.stamped)
        say("This system stamps no arrivals: the time until an answer was read is in its round trip, which may look "
            "longer than it was.");
    return remarks;
}

Page page_of(const RoundTripFinding& found, Columns columns) {
    Page page(columns);
    const std::string word = word_of(found.verdict), blank(word.size() + 2, ' ');
    page.headline(word, hue_of(found.verdict), plain(sentence_of(found)));
    if (found.outcome.stopped)
        page.paragraph(blank, "Stopped early: " + grouped(found.figures.sent) + " of " + grouped(found.asked.count) +
                                  " were sent, and count.");
    if (found.some()) {
        page.paragraph(blank, "Nothing is claimed about longer ones that were not seen.");
        figures(page, found);
    }
    bool first = true;
    for (const std::string& remark : remarks_of(found)) {
        if (first) page.blank();
        page.paragraph_at(indent, first ? (found.some() ? "Remark      " : "Look at     ") : std::string(indent, ' '),
                          plain(remark));
        first = false;
    }
    if (!found.some()) return page;
    page.blank();
    page.paragraph_at(indent, "Evidence    ",
                      plain(found.folder) + "/  " + std::string(round_trips_csv) + " " + std::string(round_trips_page) +
                          " roundtrips.txt roundtrips.json");
    page.paragraph_at(indent, "Use         ", "in a scenario's [channel], with the file beside it:");
    page.line(std::string(indent, ' ') + round_trips_key());
    return page;
}

Value describe(const RoundTripFinding& found) {
    const sim::RoundTrips& trips = found.outcome.trips;
    const sim::RoundTripFigures& figures = found.figures;
    const auto line = [&figures](proto::Duration sim::Spread::*which) {
        return figures.line ? Value((*figures.line).*which) : Value();
    };
    return Value::Object{
        {"version", LINKDRILL_VERSION},
        {"verdict", key_of(found.verdict)},
        {"to", found.asked.to.written()},
        {"from", written(found.outcome.from)},
        {"cycle_ms", found.asked.cycle},
        {"bytes", std::uint64_t{found.asked.bytes}},
        {"planned", found.asked.count},
        {"sent", figures.sent},
        {"lost", figures.lost},
        {"duplicated", trips.duplicated},
        {"reordered", trips.reordered},
        {"median_ms", line(&sim::Spread::median)},
        {"p99_ms", line(&sim::Spread::p99)},
        {"max_ms", line(&sim::Spread::max)},
        {"answered_after_ms", spread_value(figures.answered_after)},
        {"own_lateness_ms", spread_value(figures.own_lateness)},
        {"wait_ms", found.asked.wait},
        {"answered_after_wait", trips.after_wait},
        {"strangers", trips.strangers},
        {"unbelieved", trips.unbelieved},
        {"not_sent", trips.not_sent},
        {"not_sent_why", Value::text_or_null(found.outcome.not_sent_why)},
        {"dropped_here", found.outcome.dropped_here},
        {"clock_set", found.outcome.clock_set},
        {"stamped", found.outcome.stamped},
        {"stopped", found.outcome.stopped},
        {"refused", found.outcome.refused},
        {"gaps", std::uint64_t{found.gaps.size()}},
        {"first_gaps", gaps_value(found.gaps)},
        {"remarks", Value::list_of(remarks_of(found))},
        {"file", found.some() ? Value(found.folder + "/" + round_trips_csv) : Value()},
    };
}

Page page_of(const sim::AnswerOutcome& outcome, Columns columns) {
    Page page(columns);
    const sim::Answering::Counts& counts = outcome.counts;
    const bool any = counts.answered > 0;
    page.headline(any ? "ANSWERED" : "NOT ASKED", any ? Hue::good : Hue::caution,
                  any ? counted(counts.answered, "datagram", "datagrams") + " of " +
                            counted(counts.askers, "run", "runs") + ", at " + written(outcome.at) + "."
                      : "nobody asked at " + written(outcome.at) + ".");
    if (any)
        page.paragraph("          ", "An answer left " + fine_ms(outcome.longest) + " after its ask came, at most.");
    if (counts.refused > 0)
        page.paragraph("          ", grouped(counts.refused) + " refused, since somebody else was being answered.");
    if (counts.strangers > 0)
        page.paragraph("          ", counted(counts.strangers, "datagram was", "datagrams were") +
                                         " no ask of linkdrill's: dropped, never answered.");
    if (outcome.dropped_here > 0)
        page.paragraph("          ", counted(outcome.dropped_here, "datagram", "datagrams") +
                                         " found no room at this computer: losses of its own.");
    return page;
}

Value describe(const sim::AnswerOutcome& outcome) {
    return Value::Object{
        {"version", LINKDRILL_VERSION},
        {"verdict", outcome.counts.answered > 0 ? "answered" : "not-asked"},
        {"at", written(outcome.at)},
        {"answered", outcome.counts.answered},
        {"askers", outcome.counts.askers},
        {"refused", outcome.counts.refused},
        {"strangers", outcome.counts.strangers},
        {"dropped_here", outcome.dropped_here},
        {"stamped", outcome.stamped},
        {"longest_ms", outcome.longest},
    };
}

std::string csv_of(const sim::RoundTrips& trips) {
    std::string text = "at_ms,round_trip_ms,answered_after_ms,own_lateness_ms\n";
    constexpr std::size_t row_bytes = 44;  // about
    text.reserve(trips.sent.size() * row_bytes);
    for (const sim::RoundTrip& each : trips.sent) {
        text += exact_ms(each.at) + ",";
        if (each.answered()) text += exact_ms(each.line);
        text += ",";
        if (each.answered()) text += exact_ms(each.answered_after);
        text += "," + exact_ms(each.own_lateness) + "\n";
    }
    return text;
}

}  // namespace tools
