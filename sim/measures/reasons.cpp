#include "sim/measures/reasons.hpp"

#include <algorithm>

namespace sim {
namespace {

using proto::Exchange;
using enum proto::Measure;
using enum Reason::About;
using enum ErrorKind;
constexpr auto polled = Exchange::polled;
constexpr auto stream = Exchange::streaming;
constexpr std::nullopt_t both = std::nullopt;
constexpr auto by_chance = Reason::Occurs::by_chance;

constexpr std::string_view one_telegram =
    "both copies travel in one telegram here, so a whole one that is repeated, overtaken, lost or inserted still "
    "agrees "
    "with itself; the overview means two messages sent apart";
constexpr std::string_view implied_shows = "what is only implied is under the CRC, so a wrong one shows there";
constexpr std::string_view implied_number_hides =
    "where the number is only implied an answer that does not fit fails by its CRC, and tells no more";
constexpr std::string_view other_count = "a misdirected telegram is of another count, and its number seldom fits here";
constexpr std::string_view stamp_is_age =
    "a stamp tells age, not order: what is no older than permitted passes, and where numbers are judged they are first";

constexpr Reason table[] = {
    {sees, corruption, sequence, both,
     "flips in the number itself make it one that does not fit; others are not its concern"},
    {sees, corruption, time_stamp, both,
     "flips in the stamp itself make it too old or too early; others are not its concern"},
    {sees, corruption, authentication, both,
     "flips in an address or the direction make it a stranger's; others are not its concern"},
    {sees, corruption, feedback, both,
     "flips in the number fed back make it one that does not fit; others are not its concern"},
    {misses, corruption, feedback, both, "what is fed back here is a number, not the content that was received"},
    {sees, corruption, cross_check, both, "two flips in the same place of both copies agree again", by_chance},
    {misses, corruption, integrity, both, "wrong bits can give a valid CRC by chance", by_chance},

    {misses, repetition, sequence, both,
     "a number wraps: a telegram from exactly one round of numbers ago fits again, which is drawn here on purpose and "
     "in "
     "nature one case of as many as there are numbers"},
    {misses, repetition, time_stamp, both, stamp_is_age},
    {sees, repetition, feedback, stream, "an old telegram feeds back an old number, further behind than permitted"},
    {sees, repetition, feedback, polled,
     "the number of an answer is what it feeds back, so an old answer fails by both"},
    {misses, repetition, feedback, stream, "a copy that is only a few cycles old lags no more than permitted"},
    {misses, repetition, feedback, polled, implied_number_hides},
    {misses, repetition, time_expectation, both,
     "Table 2 has one column for the time-out and for what is fed back; a repetition leaves no silence"},
    {misses, repetition, cross_check, both, one_telegram},
    {sees, repetition, integrity, both, implied_shows},

    {misses, incorrect_sequence, time_stamp, both, stamp_is_age},
    {sees, incorrect_sequence, feedback, stream,
     "what was overtaken for long feeds back an old number, further behind than permitted"},
    {sees, incorrect_sequence, feedback, polled,
     "the controller judges an answer by the number that it feeds back: that is its feedback, too"},
    {misses, incorrect_sequence, cross_check, both, one_telegram},
    {sees, incorrect_sequence, integrity, both, implied_shows},

    {misses, loss, sequence, polled,
     "a polled link repeats under the same number until it is answered: no gap ever arrives, only the time runs out"},
    {misses, loss, sequence, stream,
     "the gap shows only when telegrams come again, and the watchdog has ended the wait by then"},
    {sees, loss, feedback, stream, "as long as an end hears nothing it feeds back the same old number"},
    {misses, loss, feedback, polled,
     "what is not answered feeds nothing back: the time-out, in the same column of Table 2, ends the wait"},
    {sees, loss, time_expectation, both,
     "losses here last longer than the watchdog; the overviews count a single telegram, which leaves no such silence"},
    {misses, loss, cross_check, both, one_telegram},

    {misses, delay, time_expectation, stream,
     "a watchdog hears gaps, not ages: delay that grows slowly, and then stays, is invisible without feedback or "
     "stamp"},
    {sees, delay, feedback, stream, "each cycle of delay is one number more between what was sent and what comes back"},
    {misses, delay, feedback, polled,
     "Table 2 has one column for the time-out and for what is fed back; the time-out is first"},
    {misses, delay, time_stamp, polled,
     "the watchdog over the round trip, or the controller's wait for its answer, ends before the age is reached"},

    {sees, insertion, authentication, both,
     "a neighbour's telegram brings its own addresses, which are checked before the number"},
    {misses, insertion, authentication, both,
     "identifiers catch an invalid sender only: a stray telegram from an earlier start has the right ones"},
    {misses, insertion, sequence, both, "a number can fit by chance, the oftener the narrower it is", by_chance},
    {sees, insertion, feedback, stream, "an inserted telegram feeds back a number of another exchange"},
    {sees, insertion, feedback, polled, "a stray answer feeds back a number that was never asked"},
    {misses, insertion, feedback, polled, implied_number_hides},
    {sees, insertion, time_stamp, both, "a stray telegram is from an earlier start, and its stamp is as old"},
    {misses, insertion, cross_check, both, one_telegram},
    {sees, insertion, integrity, both, implied_shows},

    {sees, masquerade, sequence, stream,
     "the forgery copies the number in use, and a stream takes each number once; one that knew the next would pass"},
    {misses, masquerade, sequence, polled,
     "the forgery copies the number that is out, which is a repetition in a polled link and not used"},
    {misses, masquerade, authentication, both, "the forgery copies the addresses"},
    {misses, masquerade, feedback, both, "the forgery copies the number that is fed back"},
    {misses, masquerade, integrity, both,
     "traffic of the same integrity system brings a CRC that fits; Table 2 means a CRC that no other traffic uses"},
    {sees, masquerade, integrity, both,
     "the CRC does not fit because that of the other traffic is another: the overview has a measure of its own for "
     "this"},
    {misses, masquerade, different_integrity, both,
     "this CRC covers what is only implied: traffic of the same kind of CRC would not know that either"},

    {sees, addressing, sequence, both, other_count},
    {sees, addressing, feedback, both, other_count},
    {sees, addressing, integrity, both, implied_shows},
};

}  // namespace

std::span<const Reason> reasons() { return table; }

const Reason* reason_for(Reason::About about, ErrorKind error, proto::Measure measure, proto::Exchange exchange) {
    const auto fits = [&](const Reason& r) {
        return r.about == about && r.error == error && r.measure == measure && (!r.exchange || r.exchange == exchange);
    };
    const auto* const found = std::find_if(std::begin(table), std::end(table), fits);
    return found == std::end(table) ? nullptr : found;
}

}  // namespace sim
