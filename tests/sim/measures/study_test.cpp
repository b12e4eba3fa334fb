// Errors through links of one measure: what each measure must see, and what it cannot see, whatever the draws.
#include <doctest/doctest.h>

#include <string>

#include "sim/measures/study.hpp"

namespace {

using proto::Measure;
using sim::ErrorFinding;
using sim::ErrorKind;
using sim::FaultWay;
using sim::LinkFinding;
using sim::StudyLink;
using sim::StudyWay;
using sim::Tally;

LinkFinding finding_of(const StudyLink& link, unsigned trials = 24, std::uint64_t seed = 1) {
    return sim::study({link}, {.seed = seed, .trials = trials}).front();
}

const ErrorFinding& of(const LinkFinding& finding, ErrorKind error) {
    for (const ErrorFinding& each : finding.errors)
        if (each.error == error) return each;
    FAIL("no such error");
    return finding.errors.front();
}

const Tally& of_way(const LinkFinding& finding, FaultWay way, StudyWay::From from = StudyWay::From::anywhere) {
    for (const ErrorFinding& each : finding.errors)
        for (const ErrorFinding::OfWay& one : each.ways)
            if (one.way.way == way && one.way.from == from) return one.tally;
    FAIL("no such way: ", sim::name_of(way));
    return finding.errors.front().all;
}

void all_seen(const Tally& tally, Measure measure) {
    REQUIRE(tally.trials != 0);
    CHECK(tally.by(measure) == tally.trials);
}
void none_seen(const Tally& tally) {
    REQUIRE(tally.trials != 0);
    CHECK(tally.seen_by_any == 0);
    CHECK(tally.missed + tally.harmless == tally.trials);
}

TEST_CASE("R-12 a link of any one measure runs, and sees nothing where nothing is wrong") {
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<Measure>(i);
        INFO(std::string(proto::name_of(measure)));
        const StudyLink link = sim::with_only(measure);
        CHECK(proto::fault_in(link.controller).has_value());  // no link outside of this look may be so
        const LinkFinding finding = finding_of(link, 12);
        CHECK(finding.sound());
        CHECK(finding.control.trials == 12);
        for (const ErrorFinding& error : finding.errors) {
            CHECK(error.all.trials == 12);
            for (unsigned other = 0; other < proto::measure_count; ++other)
                if (!link.measures.has(static_cast<Measure>(other))) CHECK(error.all.seen[other] == 0);
        }
    }
}

TEST_CASE("a CRC alone sees wrong bits, and neither time nor order nor origin") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::integrity));
    all_seen(of(finding, ErrorKind::corruption).all, Measure::integrity);
    for (const ErrorKind error : {ErrorKind::repetition, ErrorKind::incorrect_sequence, ErrorKind::loss,
                                  ErrorKind::delay, ErrorKind::insertion, ErrorKind::addressing})
        none_seen(of(finding, error).all);
}

TEST_CASE("traffic of the link's own integrity system passes its CRC, of another one it does not") {
    none_seen(of(finding_of(sim::with_only(Measure::integrity)), ErrorKind::masquerade).all);
    const LinkFinding other = finding_of(sim::with_only(Measure::different_integrity));
    all_seen(of(other, ErrorKind::masquerade).all, Measure::different_integrity);
    // wrong bits are the CRC's doing, not that of the difference between systems
    CHECK(of(other, ErrorKind::corruption).all.by(Measure::different_integrity) == 0);
    all_seen(of(other, ErrorKind::corruption).all, Measure::integrity);
}

TEST_CASE("a number alone sees what comes again, late or not at all, until it wraps") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::sequence), 40);
    all_seen(of_way(finding, FaultWay::beside), Measure::sequence);
    all_seen(of_way(finding, FaultWay::current_again), Measure::sequence);
    all_seen(of(finding, ErrorKind::incorrect_sequence).all, Measure::sequence);
    all_seen(of(finding, ErrorKind::loss).all, Measure::sequence);
    none_seen(of(finding, ErrorKind::delay).all);
    const Tally& wrapped = of_way(finding, FaultWay::beside, StudyWay::From::one_round_ago);
    REQUIRE(wrapped.trials == 10);
    CHECK(wrapped.missed == 10);  // taken for the next one: what is noticed afterwards is too late
    // it learns of a loss only when telegrams come again: by then the value was in use for too long
    CHECK(of(finding, ErrorKind::loss).all.late > 0);
}

TEST_CASE("a watchdog alone sees silence, and no delay that grows slowly") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::time_expectation));
    all_seen(of(finding, ErrorKind::loss).all, Measure::time_expectation);
    CHECK(of(finding, ErrorKind::loss).all.late == 0);
    all_seen(of_way(finding, FaultWay::step), Measure::time_expectation);
    none_seen(of_way(finding, FaultWay::creeping));
    none_seen(of(finding, ErrorKind::corruption).all);
    none_seen(of(finding, ErrorKind::repetition).all);
}

TEST_CASE("addresses alone see a stranger, and no telegram of the link's own past") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::authentication));
    all_seen(of_way(finding, FaultWay::neighbour), Measure::authentication);
    all_seen(of(finding, ErrorKind::addressing).all, Measure::authentication);
    none_seen(of_way(finding, FaultWay::stray));
    none_seen(of(finding, ErrorKind::masquerade).all);
}

TEST_CASE("a time stamp alone sees age of either kind, and nothing that is young") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::time_stamp));
    all_seen(of_way(finding, FaultWay::step), Measure::time_stamp);
    all_seen(of_way(finding, FaultWay::creeping), Measure::time_stamp);
    all_seen(of_way(finding, FaultWay::stray), Measure::time_stamp);
    none_seen(of_way(finding, FaultWay::neighbour));
    none_seen(of_way(finding, FaultWay::current_again));
    none_seen(of(finding, ErrorKind::loss).all);
}

TEST_CASE("feedback alone sees delay that grows, and no forgery that copies it") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::feedback));
    all_seen(of(finding, ErrorKind::delay).all, Measure::feedback);
    all_seen(of(finding, ErrorKind::loss).all, Measure::feedback);
    none_seen(of(finding, ErrorKind::masquerade).all);
    none_seen(of_way(finding, FaultWay::current_again));
}

TEST_CASE("a second copy alone sees wrong bits, and no whole telegram") {
    const LinkFinding finding = finding_of(sim::with_only(Measure::cross_check));
    CHECK(of(finding, ErrorKind::corruption).all.by(Measure::cross_check) >= 20);  // of 24: two flips may pair
    for (const ErrorKind error :
         {ErrorKind::repetition, ErrorKind::incorrect_sequence, ErrorKind::loss, ErrorKind::insertion})
        none_seen(of(finding, error).all);
}

TEST_CASE("all eight together let nothing through, and a measure left out is judged by nobody") {
    const StudyLink every = sim::with_every_measure();
    CHECK_FALSE(proto::fault_in(every.controller).has_value());  // a link that anybody might have
    const LinkFinding finding = finding_of(every);
    CHECK(finding.sound());
    for (const ErrorFinding& error : finding.errors) {
        CHECK(error.all.missed == 0);
        CHECK(error.all.late == 0);
    }
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<Measure>(i);
        INFO("without ", std::string(proto::name_of(measure)));
        const LinkFinding less = finding_of(sim::without(every, measure), 8);
        CHECK(less.sound());
        for (const ErrorFinding& error : less.errors) CHECK(error.all.by(measure) == 0);
    }
}

TEST_CASE("a polled link cannot do without its number and feedback, a stream can") {
    const proto::Profile profile = sim::with_every_measure().controller.profile;
    proto::Profile plain = profile;
    plain.feedback = false;
    const auto polled = sim::link_of(plain, proto::Exchange::polled);
    REQUIRE(polled.ok());
    CHECK_FALSE(sim::can_do_without(polled.value(), Measure::sequence));
    CHECK_FALSE(sim::can_do_without(polled.value(), Measure::feedback));
    CHECK(sim::can_do_without(polled.value(), Measure::authentication));
    // feedback as a field of its own has no place in a polled telegram
    CHECK_FALSE(sim::link_of(profile, proto::Exchange::polled).ok());
    const auto stream = sim::link_of(profile, proto::Exchange::streaming);
    REQUIRE(stream.ok());
    CHECK(sim::can_do_without(stream.value(), Measure::feedback));
    plain.copies = 1;
    CHECK_FALSE(sim::can_do_without(sim::link_of(plain, proto::Exchange::polled).value(), Measure::cross_check));
}

bool same(const Tally& a, const Tally& b) {
    return a.trials == b.trials && a.seen == b.seen && a.seen_by_any == b.seen_by_any && a.late == b.late &&
           a.harmless == b.harmless && a.missed == b.missed && a.as_in_table_2 == b.as_in_table_2;
}

TEST_CASE("the same findings with any number of threads, others with another seed") {
    const std::vector<StudyLink> links{sim::with_only(Measure::sequence), sim::with_only(Measure::time_stamp)};
    const auto one = sim::study(links, {.seed = 5, .trials = 16, .jobs = 1});
    const auto three = sim::study(links, {.seed = 5, .trials = 16, .jobs = 3});
    const auto others = sim::study(links, {.seed = 6, .trials = 16, .jobs = 1});
    bool any_other = false;
    for (std::size_t link = 0; link < links.size(); ++link)
        for (std::size_t error = 0; error < sim::study_error_count; ++error) {
            CHECK(same(one[link].errors[error].all, three[link].errors[error].all));
            any_other = any_other || !same(one[link].errors[error].all, others[link].errors[error].all);
        }
    CHECK(any_other);
}

TEST_CASE("a trial draws alike on every link: what a link is compared with had the same errors") {
    // alone in its study or beside another link
    const auto alone = sim::study({sim::with_only(Measure::sequence)}, {.seed = 5, .trials = 10});
    const auto beside =
        sim::study({sim::with_only(Measure::integrity), sim::with_only(Measure::sequence)}, {.seed = 5, .trials = 10});
    for (std::size_t error = 0; error < sim::study_error_count; ++error)
        CHECK(same(alone[0].errors[error].all, beside[1].errors[error].all));
}

}  // namespace
