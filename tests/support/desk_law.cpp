#include "tests/support/desk_law.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <memory>
#include <sstream>
#include <type_traits>

#include "sim/desk/usual_fault.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tests/support/text_files.hpp"

namespace tests {
namespace {

using sim::DeskBench;
using sim::Instant;

sim::Scenario scenario_of(const std::string& text, const std::string& path) {
    auto read = sim::scenario_in(text, path);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? std::string() : read.error().one_line() + "\n" + text));
    return std::move(read.value());
}

sim::WholeCell cell_of(const std::string& text, const std::string& path) {
    auto read = sim::cell_in(text, path);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? std::string() : read.error().one_line() + "\n" + text));
    return std::move(read.value());
}

std::unique_ptr<DeskBench> bench_of(const std::string& text, const DeskFile& file, std::uint64_t seed,
                                    DeskBench::Begin begin, sim::DeskTrace* trace) {
    if (file.several) return std::make_unique<DeskBench>(cell_of(text, file.path), seed, begin, trace);
    return std::make_unique<DeskBench>(scenario_of(text, file.path), seed, begin, trace);
}

// ---- one line for each change, so that a difference can be read ----

struct Line {
    std::ostringstream& out;
    void operator()(const sim::Changed& f) const {
        out << "end " << static_cast<int>(f.end) << ": " << static_cast<int>(f.transition.from) << " to "
            << static_cast<int>(f.transition.to) << ", cause " << static_cast<int>(f.transition.cause) << ", measure "
            << (f.transition.measure ? static_cast<int>(*f.transition.measure) : -1);
    }
    void operator()(const sim::MachineTold& f) const {
        out << "machine " << (f.command ? static_cast<int>(*f.command) : -1) << (f.speeds_up ? " speeds up" : "");
    }
    void operator()(const sim::OutputUsed& f) const { out << "output uses " << f.signals; }
    void operator()(const sim::Contacted& f) const { out << "guard " << f.safeguard << (f.free ? " free" : " not"); }
    void operator()(const sim::Computed& f) const {
        out << "end " << static_cast<int>(f.end) << " computed " << f.signals;
    }
    void operator()(const sim::InUse& f) const { out << "end " << static_cast<int>(f.end) << " uses " << f.signals; }
    void operator()(const sim::OutputsOff& f) const { out << "end " << static_cast<int>(f.end) << " off"; }
    void operator()(const sim::DriveSlows& f) const { out << "drive slows " << f.slows; }
    void operator()(const sim::SpeedLimited& f) const { out << "limit " << f.um_s; }
};

std::string line_of(const sim::DeskChange& change) {
    std::ostringstream out;
    std::visit([&](const auto& fact) { out << fact.at.ns << " ns: "; }, change);
    std::visit(Line{out}, change);
    return out.str();
}

Instant time_of(const sim::DeskChange& change) {
    return std::visit([](const auto& fact) { return fact.at; }, change);
}

std::string first_difference(const std::vector<sim::DeskChange>& shown, const std::vector<sim::DeskChange>& run,
                             Instant end) {
    std::vector<std::string> a, b;
    for (const sim::DeskChange& one : shown)
        if (time_of(one) < end) a.push_back(line_of(one));
    for (const sim::DeskChange& one : run)
        if (time_of(one) < end) b.push_back(line_of(one));
    for (std::size_t i = 0; i < std::max(a.size(), b.size()); ++i) {
        const std::string left = i < a.size() ? a[i] : "nothing", right = i < b.size() ? b[i] : "nothing";
        if (left != right) return "change " + std::to_string(i) + ": shown " + left + "; run " + right;
    }
    return {};
}

// ---- what a rehearsal draws, beside the same of what was shown ----

template <class Change, class Words>
void list(std::ostringstream& out, const char* what, const std::vector<Change>& changes, Instant end, Words words) {
    for (const Change& one : changes)
        if (one.at < end) out << what << " " << one.at.ns << ": " << words(one) << "\n";
}

std::string drawn(const sim::TimeLine& line, Instant end) {
    std::ostringstream out;
    for (const sim::End which : {sim::End::controller, sim::End::device}) {
        list(out, "state", line.states(which), end, [](const sim::TimeLine::StateChange& one) {
            return static_cast<int>(one.state) * 1000 + static_cast<int>(one.cause) * 10 +
                   (one.measure ? static_cast<int>(*one.measure) + 1 : 0);
        });
        list(out, "used", line.signals(which), end, [](const auto& one) { return one.used; });
        list(out, "computed", line.computed(which), end, [](const auto& one) { return one.used; });
    }
    list(out, "contacts", line.contacts(), end, [](const auto& one) { return one.free; });
    list(out, "speed", line.speed(), end, [](const auto& one) { return one.um_s; });
    return out.str();
}

std::string drawn_of(const sim::Scenario& scenario, const std::vector<sim::DeskChange>& shown, Instant end) {
    sim::TimeLine line(scenario);
    for (const sim::DeskChange& change : shown)
        std::visit(
            [&](const auto& fact) {
                using Fact = std::decay_t<decltype(fact)>;
                if constexpr (!std::is_same_v<Fact, sim::OutputUsed>) line.hear(fact);
            },
            change);
    line.finish(end);
    return drawn(line, end);
}

std::string first_line_that_differs(const std::string& a, const std::string& b) {
    std::istringstream left(a), right(b);
    std::string one, other;
    for (;;) {
        const bool more = static_cast<bool>(std::getline(left, one));
        const bool others = static_cast<bool>(std::getline(right, other));
        if (!more && !others) return {};
        if (!more) one = "nothing";
        if (!others) other = "nothing";
        if (one != other) return "shown " + one + "; rehearsed " + other;
    }
}

std::string what_differs_rehearsed(const DeskFile& file, const std::string& text, std::uint64_t seed,
                                   const sim::DeskTrace& shown, Instant end) {
    std::vector<std::string> rehearsed;
    if (file.several) {
        const sim::WholeCell cell = cell_of(text, file.path);
        std::vector<std::unique_ptr<sim::TimeLine>> lines;
        std::vector<sim::Witnesses> witnesses;
        for (const sim::CellLink& link : cell.links) {
            lines.push_back(std::make_unique<sim::TimeLine>(link.alone));
            witnesses.push_back({nullptr, lines.back().get()});
        }
        static_cast<void>(sim::rehearse_cell(cell, seed, witnesses));
        for (std::size_t i = 0; i < lines.size(); ++i) {
            const std::string left = drawn_of(cell.links[i].alone, shown[i], end);
            if (auto found = first_line_that_differs(left, drawn(*lines[i], end)); !found.empty())
                return "rehearsal of link " + cell.links[i].name + ": " + found;
        }
        return {};
    }
    const sim::Scenario scenario = scenario_of(text, file.path);
    sim::TimeLine line(scenario);
    static_cast<void>(sim::rehearse(scenario, seed, {nullptr, &line}));
    const std::string found = first_line_that_differs(drawn_of(scenario, shown[0], end), drawn(line, end));
    return found.empty() ? found : "rehearsal: " + found;
}

}  // namespace

std::string lasting(const std::string& text, proto::Duration duration, bool with_acts) {
    std::istringstream lines(text);
    std::string out, line;
    bool leaves_out = false, top = true;
    while (std::getline(lines, line)) {
        if (line.starts_with("[")) {
            top = false;
            leaves_out = !with_acts && (line.starts_with("[[demand]]") || line.starts_with("[[operator]]") ||
                                        line.starts_with("[[fault]]") || line.starts_with("[fault."));
        }
        if (top && line.starts_with("duration")) line = "duration = \"" + sim::written(duration) + "\"";
        if (!leaves_out) out += line + "\n";
    }
    return out;
}

DeskFile desk_file(const std::string& path) {
    DeskFile shipped;
    shipped.path = path;
    shipped.text = text_of(shipped.path);
    shipped.several = sim::has_several_links(shipped.path);
    return shipped;
}

std::unique_ptr<DeskBench> bench_of(const DeskFile& file, std::uint64_t seed, DeskBench::Begin begin,
                                    sim::DeskTrace* trace) {
    return bench_of(file.text, file, seed, begin, trace);
}

bool RandomPeople::put_in_something(DeskBench& bench, const std::string& link, const sim::Scenario& scenario) {
    const auto way = static_cast<sim::FaultWay>(below(static_cast<std::uint64_t>(sim::FaultWay::misdeliver) + 1));
    const auto direction = static_cast<sim::FaultDirection>(below(3));
    const sim::End end = below(2) == 0 ? sim::End::controller : sim::End::device;
    sim::Fault fault = sim::usual_fault(scenario, way, direction, end);
    if (!fault.at_end && !fault.lasting && below(2) == 0) fault.times = 1 + below(60);
    if (fault.lasting && below(3) == 0) fault.lasting = proto::milliseconds(static_cast<std::int64_t>(1 + below(900)));
    DeskBench::When when;
    when.kind = static_cast<DeskBench::When::Kind>(below(3));
    when.after = proto::milliseconds(static_cast<std::int64_t>(below(1500)));
    return !bench.put_in(link, fault, when);
}

bool RandomPeople::act(DeskBench& bench, const std::vector<sim::Scenario>& links) {
    // sometimes at once, sometimes at a whole millisecond, sometimes anywhere
    static constexpr std::array<std::int64_t, 4> longest{1, 20'000'000, 150'000'000, 900'000'000};
    std::int64_t wait = static_cast<std::int64_t>(below(static_cast<std::uint64_t>(longest[below(4)])));
    if (below(2) == 0) wait -= wait % 1'000'000;
    bench.run_until(bench.now() + proto::Duration{wait});
    const sim::DeskShown shown = bench.shown();
    const std::size_t at = below(shown.links.size());
    const std::string& link = shown.links[at].name;
    const sim::End end = below(2) == 0 ? sim::End::controller : sim::End::device;
    const auto& guards = shown.guards;
    if (stops_ == Stops::now_and_then && !shown.machines.empty() && below(25) == 0) {
        const sim::DeskMachine& machine = shown.machines[below(shown.machines.size())];
        return !bench.emergency_stop(machine.name, !machine.emergency_stop);
    }
    switch (below(12)) {
        case 0:
        case 1:
        case 2:
            if (guards.empty()) return false;
            return !bench.guard(guards[below(guards.size())].name, below(3) != 0);
        case 3: {
            // whoever holds something lets it go
            for (const sim::DeskGuard& guard : guards)
                if (guard.held) return !bench.guard(guard.name, false);
            return false;
        }
        case 4: return !(below(2) == 0 ? bench.acknowledge() : bench.acknowledge(link));
        case 5:
            if (guards.empty()) return false;
            return !bench.reset(guards[below(guards.size())].name);
        case 6:
            if (shown.machines.empty()) return false;
            return !bench.start_machine(shown.machines[below(shown.machines.size())].name);
        case 7:
            if (shown.modes.empty()) return false;
            return !bench.select_mode(shown.modes[below(shown.modes.size())].name);
        case 8: return !bench.cable(link, shown.links[at].cable_out);
        case 9: return !bench.power(link, end, below(2) == 0) || !bench.power(link, end, true);
        case 10: return put_in_something(bench, link, links[at]);
        default: return below(3) == 0 ? !bench.take_out_faults() : put_in_something(bench, link, links[at]);
    }
}

std::vector<sim::Scenario> links_of(const DeskFile& file) {
    if (!file.several) return {scenario_of(file.text, file.path)};
    std::vector<sim::Scenario> links;
    for (sim::CellLink& link : cell_of(file.text, file.path).links) links.push_back(std::move(link.alone));
    return links;
}

std::string what_differs(const DeskFile& file, std::uint64_t seed, DeskBench::Begin begin, const DeskBench& bench,
                         const sim::DeskTrace& shown) {
    const bool with_acts = begin == DeskBench::Begin::as_written;
    proto::Duration duration = bench.kept_duration();
    if (with_acts) duration = std::max(duration, links_of(file).front().duration);
    const std::string text = lasting(file.text, duration, with_acts) + "\n" + bench.kept_blocks();
    const Instant end = bench.kept_until();
    sim::DeskTrace trace;
    const auto fresh = bench_of(text, file, seed, DeskBench::Begin::as_written, &trace);
    fresh->run_until(end);
    for (std::size_t i = 0; i < shown.size(); ++i)
        if (const std::string found = first_difference(shown[i], trace[i], end); !found.empty())
            return "link " + std::to_string(i) + ", " + found + "\n" + bench.kept_blocks();
    const std::string rehearsed = what_differs_rehearsed(file, text, seed, shown, end);
    return rehearsed.empty() ? rehearsed : rehearsed + "\n" + bench.kept_blocks();
}

}  // namespace tests
