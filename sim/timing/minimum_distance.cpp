#include "sim/timing/minimum_distance.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

constexpr std::int64_t mm_um = 1'000;
constexpr Duration overall_longest = proto::seconds(3600);

/// mm/s are pm/ns: 2000 mm/s * 1 ns = 2000 pm.
struct Speed {
    std::int64_t mm_s;
};
constexpr Speed reaching{2000};  ///< hands and arms, near the hazard
constexpr Speed walking{1600};

// Two steps (2010: 6.2.3; 2024 by commentary): with 2000 mm/s at least 100 mm; over 500 mm with 1600 mm/s, but then at
// least 500 mm.
constexpr Length reaching_least = millimetres(100);
constexpr Length reaching_most = millimetres(500);

Length covered(Speed speed, Duration time) { return {speed.mm_s * time.ns}; }
/// The longest time in which no more than `way` is covered; nothing if that is negative.
std::optional<Duration> time_for(Length way, Speed speed) {
    if (way.pm < 0) return std::nullopt;
    return Duration{way.pm / speed.mm_s};
}

/// How S follows from T: a length that is added, and whether K goes in two steps.
struct Rule {
    enum class Speeds : std::uint8_t { two_steps, walking_only };
    Speeds speeds = Speeds::walking_only;
    Length added;
    std::string how;  ///< the added length with its numbers
};

Length length_by(const Rule& rule, Duration time) {
    const Length walked = covered(walking, time) + rule.added;
    if (rule.speeds == Rule::Speeds::walking_only) return walked;
    const Length reached = std::max(covered(reaching, time) + rule.added, reaching_least);
    return reached <= reaching_most ? reached : std::max(walked, reaching_most);
}

/// The exact inverse of length_by(): S never falls with T, so the longest time is at the last T with S <= `there`.
std::optional<Duration> time_by(const Rule& rule, Length there) {
    if (rule.speeds == Rule::Speeds::walking_only) return time_for(there - rule.added, walking);
    // From 500 mm on S = max(500, 1600 * T + C): on the flat step, too, the slower speed gives the longest time.
    if (there >= reaching_most) {
        const auto slow = time_for(there - rule.added, walking);
        const auto fast = time_for(reaching_most - rule.added, reaching);
        if (!slow || !fast) return slow ? slow : fast;
        return std::max(*slow, *fast);
    }
    if (there < reaching_least) return std::nullopt;
    return time_for(there - rule.added, reaching);
}

std::string in_mm(std::int64_t um) { return written(micrometres(um)); }

Rule through(const DistanceCase& how) {
    using Speeds = Rule::Speeds;
    const auto walking_rule = [](std::int64_t mm) {
        return Rule{Speeds::walking_only, millimetres(mm), std::to_string(mm) + " mm"};
    };
    const bool newer = how.edition == Edition::iso_13855_2024;
    switch (how.approach) {
        case Approach::right_angle: {
            const std::int64_t d = how.resolution_um.value_or(0);
            if (d > 40 * mm_um) return walking_rule(850);
            const std::int64_t intrusion = std::max<std::int64_t>(8 * (d - 14 * mm_um), 0);
            std::string text = "8 * (" + in_mm(d) + " - 14 mm)";
            if (d < 14 * mm_um) text = "0 mm";
            return {Speeds::two_steps, micrometres(intrusion), std::move(text)};
        }
        case Approach::multi_beam: return walking_rule(850);
        case Approach::single_beam: return walking_rule(1200);
        case Approach::parallel: {
            if (newer) return walking_rule(1200);
            const std::int64_t h = how.height_um.value_or(0);
            // 0.4 * H in picometres: 400'000 pm for each micrometre
            const Length by_height = millimetres(1200) - Length{h * 400'000};
            if (by_height >= millimetres(850))
                return {Speeds::walking_only, by_height, "(1200 mm - 0.4 * " + in_mm(h) + ")"};
            return {Speeds::walking_only, millimetres(850), "850 mm (least; 1200 mm - 0.4 * " + in_mm(h) + " is less)"};
        }
        case Approach::mat: return walking_rule(1200);
        case Approach::two_hand: return walking_rule(newer ? 550 : 250);
        case Approach::interlocked_guard: {
            const std::int64_t reach = how.reaching_through_um.value_or(0);
            return {Speeds::walking_only, micrometres(reach), in_mm(reach)};
        }
    }
    return walking_rule(1200);
}

std::optional<Rule> over(const DistanceCase& how) {
    if (!how.reaching_over_um) return std::nullopt;
    Rule rule = through(how);
    rule.added = micrometres(*how.reaching_over_um);
    rule.how = in_mm(*how.reaching_over_um);
    return rule;
}

std::string sum(Speed speed, Duration time, const Rule& rule, const DistanceCase& how) {
    std::string text = std::to_string(speed.mm_s) + " mm/s * " + written(time) + " + " + rule.how;
    if (how.supplement_um != 0) text += " + " + in_mm(how.supplement_um);
    return text;
}

/// "2000 mm/s * 90 ms + 8 * (14 mm - 14 mm) = 180 mm", with both steps where two were taken.
std::string formula_by(const Rule& rule, Duration time, const DistanceCase& how) {
    const Length z = micrometres(how.supplement_um);
    const Length walked = covered(walking, time) + rule.added;
    std::string slow = sum(walking, time, rule, how) + " = " + written(walked + z);
    if (rule.speeds == Rule::Speeds::walking_only) return slow;
    const Length reached = covered(reaching, time) + rule.added;
    std::string fast = sum(reaching, time, rule, how) + " = " + written(reached + z);
    const std::string with_z = how.supplement_um == 0 ? "" : " and the supplement";
    if (reached < reaching_least) return fast + ", but at least 100 mm" + with_z;
    if (reached <= reaching_most) return fast;
    return fast + ", over 500 mm" + with_z + "; so " + slow +
           (walked < reaching_most ? ", but at least 500 mm" + with_z : "");
}

bool is_vertical(Approach approach) {
    return approach == Approach::right_angle || approach == Approach::multi_beam || approach == Approach::single_beam;
}

std::vector<std::string> cautions_for(const DistanceCase& how) {
    const bool newer = how.edition == Edition::iso_13855_2024;
    std::vector<std::string> all;
    all.emplace_back(newer
                         ? "The edition of 2024 is known here from public commentary only: compare its text before you "
                           "rely on this."
                         : "Formulas of the edition of 2010 from memory of the standard, in agreement with public "
                           "commentary.");
    if (is_vertical(how.approach)) {
        if (how.reaching_over_um) {
            all.emplace_back(
                "The reaching distance over the upper edge was given; the table it comes from is not kept here. The "
                "larger of the two results counts.");
        } else {
            all.emplace_back(
                "Reaching over the upper edge is not in this result: take the reaching distance from the standard's "
                "table and give it as reaching-over.");
        }
    }
    if (how.approach == Approach::right_angle && how.resolution_um.value_or(0) > 40 * mm_um && newer) {
        all.emplace_back(
            "For 40 to 55 mm the edition of 2024 has a formula of its own, which is not at hand; the 850 mm of the "
            "edition of 2010 were taken.");
    }
    if (how.approach == Approach::right_angle && how.resolution_um.value_or(0) > 40 * mm_um) {
        all.emplace_back("Over 40 mm a field does not see a hand: it detects arms or bodies.");
    }
    if (how.approach == Approach::parallel) {
        const std::int64_t crawl_mm = newer ? 200 : 300;
        if (how.height_um.value_or(0) > crawl_mm * mm_um) {
            all.push_back("The field is higher than " + std::to_string(crawl_mm) +
                          " mm: somebody can crawl in below it unseen. Bar that way, or put the field lower.");
        }
        if (!how.resolution_um) {
            // d <= H / 15 + 50
            const std::int64_t finest_needed = how.height_um.value_or(0) / 15 + 50 * mm_um;
            all.push_back("No resolution was given: at this height the field needs one of " +
                          std::to_string(finest_needed / mm_um) + " mm or finer (H >= 15 * (d - 50 mm)).");
        }
    }
    if (how.approach == Approach::interlocked_guard) {
        all.emplace_back("The reach through the opening was given; it is to be taken from ISO 13857.");
    }
    if (how.supplement_um != 0) all.emplace_back("The supplement is added after the choice of the speed.");
    all.emplace_back("The standard covers no one who runs, jumps or reaches in faster.");
    return all;
}

std::string named_case(const DistanceCase& how) { return "case \"" + std::string(name_of(how.approach)) + "\""; }

/// The first key given that has no meaning for this way of approach.
std::optional<std::string> unused_key(const DistanceCase& how) {
    const bool field = how.approach == Approach::right_angle || how.approach == Approach::parallel;
    if (how.resolution_um && !field) return "resolution";
    if (how.height_um && how.approach != Approach::parallel) return "height";
    if (how.reaching_over_um && !is_vertical(how.approach)) return "reaching_over";
    if (how.reaching_through_um && how.approach != Approach::interlocked_guard) return "reaching_through";
    return std::nullopt;
}

/// Lengths out of range, whatever the case.
std::optional<DistanceFault> fault_in_lengths(const DistanceCase& how) {
    constexpr std::int64_t longest_mm = 10'000;
    const std::int64_t lengths[] = {how.resolution_um.value_or(1), how.height_um.value_or(0),
                                    how.reaching_over_um.value_or(0), how.reaching_through_um.value_or(0),
                                    how.supplement_um};
    const char* const keys[] = {"resolution", "height", "reaching_over", "reaching_through", "supplement"};
    for (std::size_t i = 0; i < std::size(lengths); ++i) {
        if (i == 0 && how.resolution_um && lengths[i] <= 0)
            return DistanceFault{keys[i],
                                 in_mm(lengths[i]) + " is no resolution; write more than 0, such as \"14 mm\""};
        if (lengths[i] < 0) return DistanceFault{keys[i], in_mm(lengths[i]) + " is negative; write 0 or more"};
        if (i != 1 && lengths[i] > longest_mm * mm_um)
            return DistanceFault{keys[i], in_mm(lengths[i]) + " is too long; write at most \"10 m\""};
    }
    return std::nullopt;
}

std::optional<DistanceFault> fault_in_right_angle(const DistanceCase& how) {
    if (!how.resolution_um)
        return DistanceFault{"resolution",
                             "is missing, and " + named_case(how) + " needs it; write for example \"14 mm\""};
    if (*how.resolution_um > 70 * mm_um)
        return DistanceFault{"resolution", in_mm(*how.resolution_um) +
                                               " is over 70 mm, so the field sees bodies only; write case "
                                               "\"multi-beam\", if nobody can reach in with a hand or an arm"};
    return std::nullopt;
}

std::optional<DistanceFault> fault_in_parallel(const DistanceCase& how) {
    if (!how.height_um)
        return DistanceFault{"height",
                             "is missing, and " + named_case(how) + " needs it; write for example \"300 mm\""};
    const std::int64_t h = *how.height_um;
    if (h > 1000 * mm_um)
        return DistanceFault{"height", in_mm(h) + " is out of range; write 0 to 1000 mm, or another case"};
    if (how.resolution_um && h < 15 * (*how.resolution_um - 50 * mm_um))
        return DistanceFault{"height", in_mm(h) + " is too low for a resolution of " + in_mm(*how.resolution_um) +
                                           ": a leg could pass above; write " +
                                           in_mm(15 * (*how.resolution_um - 50 * mm_um)) +
                                           " or more, or a finer resolution"};
    return std::nullopt;
}

}  // namespace

std::int64_t whole_mm_up(Length length) { return (length.pm + 999'999'999) / 1'000'000'000; }

std::string written(Length length) {
    const std::uint64_t size =
        length.pm < 0 ? ~static_cast<std::uint64_t>(length.pm) + 1 : static_cast<std::uint64_t>(length.pm);
    std::string text = std::to_string(size / 1'000'000'000);
    if (size % 1'000'000'000 != 0) {
        std::string digits = std::to_string(1'000'000'000 + size % 1'000'000'000).substr(1);
        while (digits.back() == '0') digits.pop_back();
        text += "." + digits;
    }
    return (length.pm < 0 ? "-" : "") + text + " mm";
}

std::optional<DistanceFault> fault_in(const DistanceCase& how) {
    if (const auto key = unused_key(how))
        return DistanceFault{*key, "means nothing in " + named_case(how) + "; take it away"};
    if (how.supplement_um != 0 && how.edition != Edition::iso_13855_2024)
        return DistanceFault{"supplement", "belongs to the edition of 2024; write edition = \"2024\", or take it away"};
    if (auto fault = fault_in_lengths(how)) return fault;
    if (how.approach == Approach::right_angle) return fault_in_right_angle(how);
    if (how.approach == Approach::parallel) return fault_in_parallel(how);
    if (how.approach == Approach::interlocked_guard && !how.reaching_through_um)
        return DistanceFault{"reaching_through",
                             "is missing: how far can somebody reach through the opening before the switch reports, by "
                             "ISO 13857? Write \"0 mm\" if not at all"};
    return std::nullopt;
}

Length needed_length(const DistanceCase& how, Duration overall) {
    proto::require(!fault_in(how), "a distance of an impossible case");
    proto::require(overall >= Duration{} && overall <= overall_longest, "an overall time out of range");
    Length needed = length_by(through(how), overall);
    if (const auto rule = over(how)) needed = std::max(needed, length_by(*rule, overall));
    return needed + micrometres(how.supplement_um);
}

Distance needed_distance(const DistanceCase& how, Duration overall) {
    Distance found;
    found.needed = needed_length(how, overall);
    found.cautions = cautions_for(how);
    if (const auto rule = over(how)) {
        found.formula = "S = the larger of " + formula_by(through(how), overall, how) + " (through), and " +
                        formula_by(*rule, overall, how) + " (over)";
    } else {
        found.formula = "S = " + formula_by(through(how), overall, how);
    }
    return found;
}

std::optional<Duration> longest_overall(const DistanceCase& how, Length there) {
    proto::require(!fault_in(how), "a distance of an impossible case");
    const Length left = there - micrometres(how.supplement_um);
    std::optional<Duration> longest = time_by(through(how), left);
    if (const auto rule = over(how); rule && longest) {
        const std::optional<Duration> other = time_by(*rule, left);
        longest = other ? std::optional<Duration>(std::min(*longest, *other)) : std::nullopt;
    }
    if (longest) longest = std::min(*longest, overall_longest);
    return longest;
}

}  // namespace sim
