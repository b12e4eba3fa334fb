// Runs one drill without pages or clock and writes what it shows as JSON, for the golden net:
//   came.json    all that the instruments show when the trainee comes to it
//   right.json   the same after right conduct, evidence, naming and actions; with the debrief
//   wrong.json   after an exam with what must not be done
//   record_right.json, record_wrong.json   the records of the two
//   record_hand.json   the record of a drill with the instructor's hand in it
//
//   drill_outcome DRILLS STEM OUT     the folder with the drills, the name of the drill's file without .toml, where to
//                                     write; status 2 and one line on standard error if that cannot be
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>

#include "sim/reading/read_drill.hpp"
#include "tools/text/json.hpp"
#include "tools/training/exercise.hpp"

namespace {

using tools::ActFields;
using tools::Exercise;

constexpr const char* instruments[] = {"controller-panel", "io-panel", "time-line",
                                       "telegrams",        "settings", "neighbour"};

void write(const std::string& path, const tools::Value& document) {
    std::ofstream file(path, std::ios::binary);
    file << tools::to_json(document);
    if (!file.flush()) throw std::runtime_error(path + ": cannot be written");
}

/// The refusal of an act is an outcome like any other, but none of those here is meant to be refused.
void act(Exercise& exercise, const ActFields& fields) {
    if (const auto refusal = exercise.act(fields))
        throw std::runtime_error(exercise.drill().file + ": " + tools::field_of(fields, "act") + " " +
                                 tools::field_of(fields, "value") + ": " + std::string(refusal->why));
}

void act(Exercise& exercise, const char* name, const std::string& value = "") {
    act(exercise, {{"act", name}, {"value", value}});
}

void work(Exercise& exercise, const std::string& card) {
    act(exercise, "work", card);
    finish_work(exercise);
}

/// An exercise and the time of those who look on, which only this program moves.
struct Room {
    Exercise exercise;
    proto::Instant wall{};

    Room(const sim::Drill& drill, const sim::DrillSet& set, tools::ExerciseMode mode)
        : exercise(drill, set.cards, mode, proto::Instant{}, 0) {}

    void wait(unsigned tenths) {
        for (unsigned i = 0; i < tenths; ++i) {
            wall = wall + proto::milliseconds(100);
            exercise.run_on(wall);
        }
    }
};

void look(Exercise& exercise) {
    act(exercise, "step", "2");
    for (const char* instrument : instruments) act(exercise, "instrument", instrument);
}

void right(const sim::Drill& drill, const sim::DrillSet& set, const std::string& out) {
    Room room(drill, set, tools::ExerciseMode::practice);
    Exercise& exercise = room.exercise;
    const auto stop = [&] { act(exercise, "conduct", drill.must_be_stopped ? "emergency-stop" : "leave-stopped"); };
    if (drill.must_be_stopped) {
        stop();
        room.wait(5);
    }
    look(exercise);
    write(out + "/came.json", tools::exercise_state(exercise, true));
    if (!drill.must_be_stopped) stop();
    for (const sim::Reasoned& one : drill.secure) act(exercise, "conduct", one.id);
    act(exercise, "conduct", "lock-out");
    room.wait(10);
    act(exercise, "demand", "0");
    room.wait(35);
    act(exercise, "hint");
    act(exercise, "keep", drill.evidence.front());
    ActFields named{{"act", "name"},
                    {"where", drill.right.where.front()},
                    {"what", drill.right.what.front()},
                    {"because", drill.evidence.front()}};
    if (drill.cell) named["link"] = std::to_string(drill.cell->link_called(drill.right.link.front()));
    act(exercise, named);
    for (const sim::Needed& one : drill.needed) work(exercise, one.id);
    act(exercise, "hand-over");
    write(out + "/right.json", tools::exercise_state(exercise, true));
    write(out + "/record_right.json", tools::exercise_record(exercise));
}

void wrong(const sim::Drill& drill, const sim::DrillSet& set, const std::string& out) {
    Room room(drill, set, tools::ExerciseMode::exam);
    Exercise& exercise = room.exercise;
    act(exercise, "conduct", "acknowledge-first");
    look(exercise);
    room.wait(5);
    act(exercise, "reset");
    act(exercise, "acknowledge");
    room.wait(5);
    act(exercise, "restart");
    room.wait(20);
    act(exercise, "cannot-tell");
    act(exercise, "conduct", "lock-out");
    work(exercise, set.cards.front().id);
    work(exercise, "raise-watchdog");
    act(exercise, "hand-over");
    write(out + "/wrong.json", tools::exercise_state(exercise, false));
    write(out + "/record_wrong.json", tools::exercise_record(exercise));
}

void hand(const sim::Drill& drill, const sim::DrillSet& set, const std::string& out) {
    Room room(drill, set, tools::ExerciseMode::practice);
    Exercise& exercise = room.exercise;
    const auto instruct = [&](const ActFields& fields) {
        if (exercise.instruct(fields)) throw std::runtime_error(drill.file + ": the instructor's hand was refused");
        room.wait(5);
    };
    instruct({{"act", "pace"}, {"pace", "paused"}});
    instruct({{"act", "put-in"}, {"way", "drop"}, {"where", "both-ways"}, {"lasting_ms", "400"}});
    instruct({{"act", "cause"}, {"show", "true"}});
    act(exercise, "cannot-tell");
    work(exercise, "call-engineer");
    act(exercise, "hand-over");
    write(out + "/record_hand.json", tools::exercise_record(exercise));
}

}  // namespace

int main(int count, char** arguments) {
    try {
        if (count != 4) throw std::runtime_error("drill_outcome: DRILLS STEM OUT are needed");
        const std::string folder = arguments[1];
        const std::string file = folder + "/" + arguments[2] + ".toml";
        const auto set = sim::read_drills(folder);
        if (!set.ok()) throw std::runtime_error(set.error().one_line());
        for (const sim::Drill& drill : set.value().drills) {
            if (drill.file != file) continue;
            right(drill, set.value(), arguments[3]);
            wrong(drill, set.value(), arguments[3]);
            hand(drill, set.value(), arguments[3]);
            return 0;
        }
        throw std::runtime_error(file + ": no such drill");
    } catch (const std::exception& problem) {
        std::cerr << problem.what() << '\n';
        return 2;
    }
}
