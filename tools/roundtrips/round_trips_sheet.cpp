#include "tools/roundtrips/round_trips_sheet.hpp"

#include <algorithm>

#include "sim/scenario/units.hpp"
#include "tools/roundtrips/round_trips_page.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Row = std::vector<SheetCell>;

constexpr std::size_t slices_most = 60, longest_most = 20, gaps_most = 20;

/// Without its unit, which stands in the column's name.
SheetCell ms(proto::Duration time) {
    std::string text = fine_ms(time);
    text.resize(text.size() - 3);
    return SheetCell::number(std::move(text));
}
SheetCell s(proto::Duration at) {
    std::string text = in_s(at);
    text.resize(text.size() - 2);
    return SheetCell::number(std::move(text));
}
SheetCell count(std::uint64_t number) { return SheetCell::number(grouped(number)); }

void head(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(
        SheetHeading{.level = 1, .margin = {}, .text = "Round trips to " + found.asked.to.written(), .id = {}});
    sheet.blocks.emplace_back(SheetHeading{.margin = "1", .text = "What was measured", .id = "measured"});
    sheet.blocks.emplace_back(SheetVerdict{word_of(found.verdict),
                                           found.verdict == RoundTripVerdict::measured ? Mark::running : Mark::unknown,
                                           sentence_of(found)});
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain,
        "On the line is the time from sending a datagram to the arrival of its answer at this computer, by the time "
        "that the system stamps on arrivals, less the time for which it lay at the other one. Nothing is claimed about "
        "longer times that were not seen."});
    if (found.outcome.stopped)
        sheet.blocks.emplace_back(SheetText{
            SheetText::Kind::caution,
            "Stopped early: " + grouped(found.figures.sent) + " of " + grouped(found.asked.count) + " were sent."});
    for (const std::string& remark : remarks_of(found))
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::caution, remark});
    const auto row = [](std::string name, const sim::Spread& spread) {
        return Row{std::move(name), ms(spread.median), ms(spread.p99), ms(spread.max)};
    };
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Times",
                   .columns = {"Time", "Half within (ms)", "99 of 100 within (ms)", "Longest (ms)"},
                   .rows = {row("on the line", *found.figures.line),
                            row("at the other computer, taken off", *found.figures.answered_after),
                            row("own lateness of sending, not in the times", *found.figures.own_lateness)}});
    const sim::RoundTrips& trips = found.outcome.trips;
    sheet.blocks.emplace_back(SheetTable{.caption = "Datagrams",
                                         .columns = {"What became of them", "How many"},
                                         .rows = {{"planned", count(found.asked.count)},
                                                  {"sent", count(found.figures.sent)},
                                                  {"lost", count(found.figures.lost)},
                                                  {"answered after a later one", count(trips.reordered)},
                                                  {"answered more than once", count(trips.duplicated)},
                                                  {"came in, and not ours", count(trips.strangers)}}});
}

void spread(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "2", .text = "How they spread", .id = "spread"});
    sheet.blocks.emplace_back(
        SheetChart{"spread", "How many round trips took how long",
                   "Both axes go by powers of ten, so that a single long one is seen beside thousands of short ones."});
    SheetTable table{.caption = "Round trips by their time on the line",
                     .columns = {"From (ms)", "To under (ms)", "How many"},
                     .rows = {}};
    for (const sim::TimeCell& cell : sim::histogram_of(found.outcome.trips))
        if (cell.count > 0)
            table.rows.push_back(
                {SheetCell::number(exact_ms(cell.from)), SheetCell::number(exact_ms(cell.to)), count(cell.count)});
    sheet.blocks.emplace_back(std::move(table));
}

void course(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "3", .text = "Their course", .id = "course"});
    sheet.blocks.emplace_back(
        SheetChart{"course", "Longest and middle round trip over the time of the measurement",
                   "Each point stands for a part of the time, of equal length. A diamond: something was lost in it."});
    SheetTable table{
        .caption = "Parts of the time",
        .columns = {"From (s)", "Sent", "Lost", "Half within (ms)", "99 of 100 within (ms)", "Longest (ms)"},
        .rows = {},
        .look = "dense",
        .narrow = SheetTable::Narrow::scroll};
    const auto of = [](const sim::Slice& slice, proto::Duration sim::Spread::*which) {
        return slice.line ? ms((*slice.line).*which) : SheetCell::number("-");
    };
    for (const sim::Slice& slice : sim::slices_of(found.outcome.trips, slices_most))
        table.rows.push_back({s(slice.from), count(slice.sent), count(slice.lost), of(slice, &sim::Spread::median),
                              of(slice, &sim::Spread::p99), of(slice, &sim::Spread::max)});
    sheet.blocks.emplace_back(std::move(table));
}

void longest(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "4", .text = "The longest", .id = "longest"});
    SheetTable table{
        .caption = "Longest round trips, with what was not counted into them",
        .columns = {"Number", "Sent at (s)", "On the line (ms)", "At the other computer (ms)", "Own lateness (ms)"},
        .rows = {},
        .narrow = SheetTable::Narrow::scroll};
    for (const std::size_t place : sim::longest_of(found.outcome.trips, longest_most)) {
        const sim::RoundTrip& each = found.outcome.trips.sent[place];
        table.rows.push_back({count(place), s(each.at), ms(each.line), ms(each.answered_after), ms(each.own_lateness)});
    }
    sheet.blocks.emplace_back(std::move(table));
}

void gaps(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "5", .text = "Gaps", .id = "gaps"});
    if (found.gaps.empty()) {
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "Nothing was lost."});
        return;
    }
    std::vector<sim::Gap> by_length = found.gaps;
    std::stable_sort(by_length.begin(), by_length.end(),
                     [](const sim::Gap& a, const sim::Gap& b) { return a.count > b.count; });
    const bool all = by_length.size() <= gaps_most;
    SheetTable table{
        .caption = all ? "Losses in a row, the most first"
                       : "Losses in a row, the most first: " + grouped(gaps_most) + " of " + grouped(by_length.size()),
        .columns = {"Lost in a row", "First sent at (s)", "Last sent at (s)", "First number"},
        .rows = {},
        .narrow = SheetTable::Narrow::scroll};
    by_length.resize(std::min(by_length.size(), gaps_most));
    for (const sim::Gap& gap : by_length)
        table.rows.push_back({count(gap.count), s(gap.from), s(gap.to), count(gap.first)});
    sheet.blocks.emplace_back(std::move(table));
}

void use(Sheet& sheet, const RoundTripFinding& found) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "6", .text = "For a scenario", .id = "use"});
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::plain,
                  "Put " + std::string(round_trips_csv) +
                      " beside a scenario; half of each round trip is then the delay of one way, and what was lost is "
                      "lost there too:"});
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::command, "[channel]\n" + round_trips_key()});
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::soft, "Measured with " + std::to_string(found.asked.bytes) +
                                   " bytes in each datagram, one in " + sim::written(found.asked.cycle) + ", from " +
                                   written(found.outcome.from) + ", by linkdrill " + LINKDRILL_VERSION +
                                   ". Other sizes, times of day and loads on the network have other times."});
}

}  // namespace

Sheet sheet_of(const RoundTripFinding& found) {
    Sheet sheet;
    sheet.title = "Round trips to " + found.asked.to.written();
    head(sheet, found);
    spread(sheet, found);
    course(sheet, found);
    longest(sheet, found);
    gaps(sheet, found);
    use(sheet, found);
    sheet.foot = "Measured between two computers on an ordinary network, with datagrams of linkdrill's own kind.";
    return sheet;
}

Value chart_data_of(const RoundTripFinding& found) {
    constexpr double ns_per_ms = 1e6, ns_per_s = 1e9;
    const auto in = [](proto::Duration time, double unit) { return Value(static_cast<double>(time.ns) / unit); };
    Value::List cells, slices;
    for (const sim::TimeCell& cell : sim::histogram_of(found.outcome.trips))
        cells.emplace_back(Value::List{in(cell.from, ns_per_ms), in(cell.to, ns_per_ms), cell.count});
    for (const sim::Slice& slice : sim::slices_of(found.outcome.trips, slices_most)) {
        const auto of = [&](proto::Duration sim::Spread::*which) {
            return slice.line ? in((*slice.line).*which, ns_per_ms) : Value();
        };
        slices.emplace_back(
            Value::List{in(slice.from, ns_per_s), of(&sim::Spread::median), of(&sim::Spread::max), slice.lost});
    }
    return Value::Object{{"spread", std::move(cells)}, {"course", std::move(slices)}};
}

}  // namespace tools
