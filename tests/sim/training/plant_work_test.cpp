// Acts at the plant: each has its effect on the running link, a mend mends its own cause and no other, and the way back
// to service leads back to a machine that runs.
#include <doctest/doctest.h>

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/plant_work.hpp"
#include "sim/training/way_back.hpp"
#include "tests/support/drills.hpp"
#include "tests/support/effort.hpp"

using sim::Does;
using sim::WorkEffect;
using tests::drills;

namespace {

struct Plant {
    const sim::Drill& drill;
    std::unique_ptr<sim::Bench> bench;
    sim::PlantWork work;

    explicit Plant(const sim::Drill& one)
        : drill(one), bench(sim::bench_of(one, one.scenario.seed)), work(one, drills().cards, *bench) {}

    WorkEffect does(const std::string& id, std::optional<std::size_t> link = {}) {
        const auto& cards = drills().cards;
        const auto card = std::find_if(cards.begin(), cards.end(), [&](const auto& one) { return one.id == id; });
        REQUIRE_MESSAGE(card != cards.end(), id);
        work.begin(static_cast<std::size_t>(card - cards.begin()), link);
        if (work.busy()) work.run_until(work.works().back().until);
        REQUIRE_FALSE(work.busy());
        return work.works().back().effect;
    }
    void lock() {
        if (drill.must_be_stopped) bench->press_emergency_stop(true);
        CHECK(does("lock-out") == WorkEffect::locked);
    }
    /// The whole way back; what the watch says.
    WorkEffect back() {
        for (const char* step : {"tools-out", "look-zone", "locks-off", "reset-guard", "acknowledge"}) does(step);
        if (does("restart-machine") == WorkEffect::not_started) return WorkEffect::not_started;
        return does("watch-cycle");
    }
};

const sim::ActionCard& card(const std::string& id) { return *sim::find_by_id(drills().cards, id); }

bool mends(const std::string& id) {
    const Does does = card(id).does;
    return does == Does::mend || does == Does::type_sheet;
}

/// The card that the drill needs for its cause; "" where it is left to the engineer.
std::string mend_of(const sim::Drill& drill) {
    for (const sim::Needed& needed : drill.needed)
        if (mends(needed.id)) return needed.id;
    return "";
}

/// Hours of plant time are simulated: with sanitizers of every fourth drill.
bool is_left_out(const sim::Drill& drill) { return tests::depth_wanted() < 6 && drill.number % 4 != 0; }

/// A machine that the drill leaves standing has nobody to watch it: a link that runs is enough there.
bool runs_again(WorkEffect watched) { return watched == WorkEffect::ran; }

}  // namespace

TEST_CASE("whoever mends the cause and goes the whole way back has a machine that runs on") {
    std::size_t mended = 0;
    for (const sim::Drill& written : drills().drills) {
        std::vector<const sim::Drill*> all{&written};
        for (const sim::Drill& variant : written.variants) all.push_back(&variant);
        for (const sim::Drill* drill : all) {
            const std::string mend = mend_of(*drill);
            if (mend.empty() || is_left_out(*drill)) continue;
            CAPTURE(drill->number);
            CAPTURE(mend);
            Plant plant(*drill);
            plant.lock();
            CHECK(plant.does("restart-machine") == WorkEffect::not_started);
            CHECK(plant.does(mend) == WorkEffect::mended);
            CHECK(plant.work.mended());
            CHECK(runs_again(plant.back()));
            CHECK(plant.does("stop-once") == WorkEffect::stopped_by_guard);
            ++mended;
        }
    }
    CHECK(mended >= (tests::depth_wanted() < 6 ? 5 : 21));
}

TEST_CASE("what is mended elsewhere mends nothing: the machine does not start, or the link stops again") {
    for (const sim::Drill& drill : drills().drills) {
        const std::string right = mend_of(drill);
        if (right.empty() || is_left_out(drill)) continue;
        const std::string wrong = right == "shield-earth" ? "measure-supply" : "shield-earth";
        CAPTURE(drill.number);
        Plant plant(drill);
        plant.lock();
        CHECK(plant.does(wrong) == WorkEffect::nothing_wrong);
        CHECK_FALSE(plant.work.mended());
        const WorkEffect watched = plant.back();
        // a pulled rope that was reset, and a clock that needs minutes to drift, run on; nobody has asked why
        if (drill.number == 21 || drill.number == 19) continue;
        CHECK((watched == WorkEffect::not_started || watched == WorkEffect::link_fell || watched == WorkEffect::stood));
    }
}

TEST_CASE("what had passed comes again after an acknowledgement with the cause still there, at its own hour") {
    const sim::Drill& drill = *drills().find(4);
    REQUIRE(drill.returns_after);
    Plant plant(drill);
    CHECK(plant.does("acknowledge") == WorkEffect::acknowledged);
    const sim::Instant acknowledged = plant.work.works().back().begun;
    CHECK(plant.does("restart-machine") == WorkEffect::started);
    CHECK(plant.does("watch-cycle") == WorkEffect::link_fell);
    REQUIRE(plant.work.returned().size() == 1);
    const sim::Duration after = plant.work.returned().front() - acknowledged;
    CHECK(after >= *drill.returns_after);
    CHECK(after <= *drill.returns_after + proto::seconds(1));
    // and mended it does not
    Plant other(drill);
    CHECK(other.does("network-people") == WorkEffect::mended);
    CHECK(other.does("acknowledge") == WorkEffect::acknowledged);
    CHECK(other.does("restart-machine") == WorkEffect::started);
    CHECK(other.does("watch-cycle") == WorkEffect::ran);
    CHECK(other.work.returned().empty());
}

TEST_CASE("works do not depend on how their time is divided") {
    const auto& cards = drills().cards;
    for (const unsigned number : {4U, 10U, 24U}) {
        const sim::Drill& drill = *drills().find(number);
        const auto played = [&](sim::Duration slice) {
            Plant plant(drill);
            std::string told;
            for (const char* id : {"raise-watchdog", "lock-out", "demand-guards", "power-cycle", "locks-off",
                                   "acknowledge", "restart-machine", "watch-cycle"}) {
                const auto found = std::find_if(cards.begin(), cards.end(), [&](const auto& c) { return c.id == id; });
                plant.work.begin(static_cast<std::size_t>(found - cards.begin()), std::nullopt);
                const sim::Instant until = plant.work.works().back().until;
                while (plant.work.busy()) plant.work.run_until(std::min(until, plant.bench->now() + slice));
                told += std::string(name_of(plant.work.works().back().effect)) + " ";
            }
            for (std::size_t i = 0; i < plant.bench->links(); ++i)
                for (const sim::BenchEvent& event : plant.bench->of_link(i).events())
                    told += std::to_string(event.at.ns) + ":" + std::to_string(static_cast<int>(event.kind)) + " ";
            return told;
        };
        CHECK(played(proto::seconds(3600)) == played(proto::milliseconds(137)));
    }
}

TEST_CASE("a link of which a value was typed anew starts with it, and the sheet puts it back") {
    Plant plant(*drills().find(20));
    const sim::Duration before = plant.bench->panel(sim::End::controller).watchdog;
    CHECK(plant.does("raise-watchdog") == WorkEffect::typed);
    for (const sim::End end : {sim::End::controller, sim::End::device}) {
        const sim::Panel panel = plant.bench->panel(end);
        CHECK(panel.watchdog.ns == 2 * before.ns);
        CHECK(panel.starts > 1);
        CHECK(panel.state == proto::State::running);
    }
    CHECK(plant.does("type-from-sheet") == WorkEffect::typed);
    CHECK(plant.bench->panel(sim::End::device).watchdog == before);
    CHECK(plant.does("type-from-sheet") == WorkEffect::nothing_differs);
}

TEST_CASE("what creeps begins anew with the way, once however often it is restarted, and the mend ends it then too") {
    const sim::Drill& drill = *drills().find(18);
    const auto ages_after = [&](unsigned restarts, bool mended) {
        Plant plant(drill);
        plant.lock();
        for (unsigned i = 0; i < restarts; ++i) plant.does("restart-radio");
        if (mended) CHECK(plant.does("network-people") == WorkEffect::mended);
        return plant.back();
    };
    CHECK(ages_after(2, true) == WorkEffect::ran);
    CHECK(ages_after(2, false) != WorkEffect::ran);
    // what was told as the drill's own cause is told once for each time that it began
    Plant plant(drill);
    plant.does("restart-radio");
    plant.does("restart-radio");
    std::size_t told = 0;
    for (const sim::BenchEvent& event : plant.bench->events())
        if (event.kind == sim::BenchEvent::Kind::fault) {
            CHECK(event.detail == 0);
            ++told;
        }
    CHECK(told == 3);
}

TEST_CASE("another I/O comes with an address of its own, and the link does not start before it is typed") {
    Plant plant(*drills().find(20));
    plant.does("replace-io");
    CHECK(plant.bench->panel(sim::End::device).state != proto::State::running);
    CHECK(plant.does("acknowledge") != WorkEffect::acknowledged);
    CHECK(plant.does("type-from-sheet") == WorkEffect::typed);
    CHECK(plant.does("acknowledge") == WorkEffect::acknowledged);
    CHECK(plant.bench->panel(sim::End::device).state == proto::State::running);
}

TEST_CASE("each guard that is demanded is told by what fell, and a bridged one does not fall") {
    const sim::Drill& drill = *drills().find(4);
    Plant plant(drill);
    plant.does("network-people");
    CHECK(plant.does("demand-guards") == WorkEffect::tried);
    for (const sim::GuardTried& one : plant.work.works().back().tried) CHECK(one.was_off);  // the link is stopped
    plant.does("acknowledge");
    plant.does("demand-guards");
    REQUIRE(plant.work.works().back().tried.size() == 2);
    for (const sim::GuardTried& one : plant.work.works().back().tried) {
        CHECK(one.fell_sent);
        CHECK(one.fell_used);
        CHECK_FALSE(one.others_fell);
    }
    CHECK(plant.does("bridge-guard") == WorkEffect::bridged);
    plant.does("demand-guards");
    for (const sim::GuardTried& one : plant.work.works().back().tried) {
        CHECK_FALSE(one.fell_sent);
        CHECK_FALSE(one.fell_used);
    }
    // behind frozen data nothing falls at the other end
    Plant frozen(*drills().find(15));
    frozen.does("demand-guards");
    for (const sim::GuardTried& one : frozen.work.works().back().tried) CHECK_FALSE(one.fell_used);
    // and exchanged bits let another signal fall
    Plant exchanged(*drills().find(16));
    exchanged.does("demand-guards");
    for (const sim::GuardTried& one : exchanged.work.works().back().tried) {
        CHECK_FALSE(one.fell_used);
        CHECK(one.others_fell);
    }
}

TEST_CASE("an emergency stop is no isolation, and both keep it standing until they are taken back") {
    Plant plant(*drills().find(4));
    plant.does("network-people");
    CHECK(plant.does("out-of-service") == WorkEffect::stopped);
    plant.does("acknowledge");
    CHECK(plant.does("restart-machine") == WorkEffect::not_started);
    CHECK(plant.work.works().back().refusal == sim::StartRefusal::emergency_stop);
    CHECK(plant.does("reset-guard") == WorkEffect::reset);
    CHECK(plant.does("restart-machine") == WorkEffect::started);
    CHECK(plant.does("lock-out") == WorkEffect::locked);
    CHECK(plant.does("restart-machine") == WorkEffect::not_started);
    CHECK(plant.work.works().back().refusal == sim::StartRefusal::isolated);
    CHECK(plant.does("locks-off") == WorkEffect::unlocked);
    CHECK(plant.does("locks-off") == WorkEffect::nothing_locked);
    CHECK(plant.does("restart-machine") == WorkEffect::started);
}

TEST_CASE("a held contact gives no edge, and a taped one stays") {
    Plant plant(*drills().find(22));
    CHECK(plant.does("acknowledge") == WorkEffect::contact_stuck);
    CHECK(plant.does("replace-contact") == WorkEffect::mended);
    CHECK(plant.does("acknowledge") == WorkEffect::acknowledged);
    Plant taped(*drills().find(4));
    CHECK(taped.does("hold-acknowledge") == WorkEffect::held);
    CHECK(taped.does("acknowledge") == WorkEffect::contact_stuck);
}
