#include "sim/odds/splitting.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <vector>

#include "sim/channel/delay.hpp"
#include "sim/numeric/helping_threads.hpp"
#include "sim/odds/walk.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {
namespace {

struct Repetition {
    double stops = 0.0;
    std::array<double, stop_cause_count> by_cause{};
    std::uint64_t counted = 0, cycles = 0;
    double bent_out = 0.0, bent_back = 0.0;
};

/// A level is a time that is left to the watchdogs.
class Splitter {
  public:
    Splitter(const LinkModel& link, const WalkTables& tables, const SplittingEffort& effort, std::uint64_t seed)
        : link_(link), tables_(tables), effort_(effort), seed_(seed) {}

    Repetition run() {
        Repetition done;
        const std::int64_t first = first_level();
        std::vector<LinkWalk> entered;
        pilot(first, entered, done);
        done.cycles = cycles_;
        // What the pilot saw often enough is counted; splitting is for what it cannot see.
        constexpr std::uint64_t seen_often = 30;
        const auto pilot_cycles = static_cast<double>(effort_.pilot_cycles);
        if (done.counted >= seen_often || entered.empty()) {
            done.stops = static_cast<double>(done.counted) / pilot_cycles;
            for (double& one : done.by_cause) one /= pilot_cycles;
            return done;
        }
        done.by_cause = {};
        double rate = static_cast<double>(entries_) / pilot_cycles;
        const std::int64_t step = link_.controller.scan.ns;
        for (std::int64_t level = first - step;; level -= step) {
            std::vector<LinkWalk> next;
            std::uint64_t reached = 0;
            std::array<std::uint64_t, stop_cause_count> stopped{};
            for (unsigned i = 0; i < effort_.walks; ++i) {
                LinkWalk walk = entered[static_cast<std::size_t>(scale(draw(), entered.size()))];
                walk.draw_from(draw());
                const Fate fate = follow(walk, level, first);
                if (fate.stopped) ++stopped[static_cast<std::size_t>(*fate.stopped)];
                if (!fate.through) continue;
                ++reached;
                next.push_back(walk);
            }
            const double each = rate / effort_.walks;
            for (std::size_t i = 0; i < stopped.size(); ++i) {
                done.by_cause[i] += each * static_cast<double>(stopped[i]);
                done.stops += each * static_cast<double>(stopped[i]);
            }
            if (level < 0 || reached == 0) break;
            rate *= static_cast<double>(reached) / effort_.walks;
            entered = std::move(next);
        }
        // stops out of the ordinary state, never through the first level
        done.stops += static_cast<double>(direct_) / pilot_cycles;
        for (std::size_t i = 0; i < direct_by_cause_.size(); ++i)
            done.by_cause[i] += static_cast<double>(direct_by_cause_[i]) / pilot_cycles;
        done.cycles = cycles_;
        return done;
    }

  private:
    /// Of a walk between two levels; neither: it is back where most of them are.
    struct Fate {
        bool through = false;
        std::optional<StopCause> stopped;
    };
    Fate follow(LinkWalk& walk, std::int64_t level, std::int64_t first) {
        for (;;) {
            // a walk may stop from any level, and one that stands lower already is through at once
            if (level >= 0 && walk.left_ns() <= level) return {true, std::nullopt};
            ++cycles_;
            if (const auto cause = walk.step()) return {false, cause};
            if (walk.left_ns() > first) return {};
        }
    }

    std::uint64_t draw() { return scramble(seed_ + ++draws_ * 0x9E3779B97F4A7C15ULL); }

    /// So much time is left in about one cycle of twenty at most, in whole cycles from the end.
    std::int64_t first_level() {
        LinkWalk walk(link_, tables_, draw());
        constexpr int looks = 4000;
        std::vector<std::int64_t> left;
        for (int i = 0; i < looks; ++i) {
            static_cast<void>(walk.step());
            left.push_back(walk.left_ns());
        }
        cycles_ += looks;
        std::sort(left.begin(), left.end());
        return left[looks / 20] - 1;
    }

    void pilot(std::int64_t first, std::vector<LinkWalk>& entered, Repetition& done) {
        LinkWalk walk(link_, tables_, draw());
        constexpr int settle = 500;
        for (int i = 0; i < settle; ++i) static_cast<void>(walk.step());
        const std::uint64_t bent_out = walk.bent(Direction::to_device);
        const std::uint64_t bent_back = walk.bent(Direction::to_controller);
        bool inside = walk.left_ns() <= first;
        constexpr std::size_t kept = 4000;
        for (std::uint64_t i = 0; i < effort_.pilot_cycles; ++i) {
            const bool was = inside;
            const auto cause = walk.step();
            if (cause) {
                ++done.counted;
                done.by_cause[static_cast<std::size_t>(*cause)] += 1.0;
                if (!was) {
                    ++direct_;
                    ++direct_by_cause_[static_cast<std::size_t>(*cause)];
                }
            }
            inside = walk.left_ns() <= first;
            if (!inside || (was && !cause)) continue;
            ++entries_;
            if (entered.size() < kept)
                entered.push_back(walk);
            else if (const std::uint64_t at = scale(draw(), entries_); at < kept)
                entered[static_cast<std::size_t>(at)] = walk;
        }
        cycles_ += effort_.pilot_cycles + settle;
        const auto cycles = static_cast<double>(effort_.pilot_cycles);
        done.bent_out = static_cast<double>(walk.bent(Direction::to_device) - bent_out) / cycles;
        done.bent_back = static_cast<double>(walk.bent(Direction::to_controller) - bent_back) / cycles;
    }

    const LinkModel& link_;
    const WalkTables& tables_;
    const SplittingEffort& effort_;
    std::uint64_t seed_;
    std::uint64_t draws_ = 0, cycles_ = 0, entries_ = 0, direct_ = 0;
    std::array<std::uint64_t, stop_cause_count> direct_by_cause_{};
};

}  // namespace

SplittingOdds split(const LinkModel& link, const SplittingEffort& effort) {
    const WalkTables tables(link);
    std::vector<Repetition> done(effort.repetitions);
    std::atomic<unsigned> next{0};
    const auto work = [&] {
        for (unsigned i = next++; i < effort.repetitions; i = next++)
            done[i] = Splitter(link, tables, effort, Random(effort.seed, Concern::trial, i).at(0)).run();
    };
    {
        const HelpingThreads others(std::max(std::min(effort.jobs, effort.repetitions), 1U) - 1, work);
        work();
    }

    SplittingOdds odds;
    odds.repetitions = effort.repetitions;
    const auto count = static_cast<double>(effort.repetitions);
    for (const Repetition& one : done) {
        odds.stops += one.stops / count;
        for (std::size_t i = 0; i < one.by_cause.size(); ++i) odds.by_cause[i] += one.by_cause[i] / count;
        odds.counted += one.counted;
        odds.cycles += one.cycles;
        odds.repetitions_with_stops += one.stops > 0.0 ? 1U : 0U;
        odds.bent_to_device += one.bent_out / count;
        odds.bent_to_controller += one.bent_back / count;
    }
    double squares = 0.0;
    for (const Repetition& one : done) squares += (one.stops - odds.stops) * (one.stops - odds.stops);
    odds.standard_error = std::sqrt(squares / (count * std::max(count - 1.0, 1.0)));
    return odds;
}

}  // namespace sim
