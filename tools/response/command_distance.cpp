// linkdrill distance: the minimum distance of a safeguard alone, or the longest time for a distance at hand.
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/distance_case.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "tools/program/command.hpp"
#include "tools/response/response_page.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using proto::Duration;
using sim::Approach;

/// The quantity typed after `name`, not negative; nothing if it was not typed.
proto::Result<std::optional<std::int64_t>, Failure> quantity(const Arguments& arguments, std::string_view name,
                                                             std::span<const sim::Unit> units,
                                                             std::string_view example) {
    const std::optional<std::string> typed = arguments.value(name);
    if (!typed) return std::optional<std::int64_t>{};
    constexpr std::int64_t largest = std::int64_t{1} << 42;
    const auto read = sim::parse_quantity(*typed, units);
    const std::string shown = in_quotes(typed->substr(0, 60));
    const std::string right = "; write for example \"" + std::string(example) + "\"";
    const auto wrong = [&](const std::string& what) { return usage(std::string(name), shown + what + right); };
    if (!read) {
        switch (read.error()) {
            case sim::QuantityFault::no_number: return wrong(" is no number with a unit");
            case sim::QuantityFault::no_unit: return wrong(" has no unit");
            case sim::QuantityFault::unknown_unit: return wrong(" has an unknown unit");
            case sim::QuantityFault::too_fine: return wrong(" has too many decimals");
            case sim::QuantityFault::too_large: return wrong(" is too large");
        }
    }
    if (read.value() < 0) return wrong(" is negative");
    if (read.value() > largest) return wrong(" is too large");
    return std::optional<std::int64_t>(read.value());
}

constexpr Approach approaches[] = {Approach::right_angle,      Approach::multi_beam, Approach::single_beam,
                                   Approach::parallel,         Approach::mat,        Approach::two_hand,
                                   Approach::interlocked_guard};

proto::Result<Approach, Failure> approach_of(const Arguments& arguments) {
    std::vector<std::string> names;
    std::string all;
    for (const Approach approach : approaches) {
        names.emplace_back(sim::name_of(approach));
        all += (all.empty() ? "" : ", ") + names.back();
    }
    const auto typed = arguments.value("--case");
    if (!typed) return usage("--case", "missing; write one of " + all);
    for (const Approach approach : approaches)
        if (*typed == sim::name_of(approach)) return approach;
    const std::string word = typed->substr(0, 60);
    return usage("--case", in_quotes(word) + " is none of " + all + "; nearest is " +
                               in_quotes(names[sim::nearest_of(word, names)]));
}

/// "reaching_over" -> "--reaching-over".
std::string option_of(std::string key) {
    for (char& c : key)
        if (c == '_') c = '-';
    return "--" + key;
}

struct Asked {
    sim::DistanceCase how;
    std::optional<Duration> time;
    std::optional<sim::Length> there;
};

proto::Result<Asked, Failure> asked_of(const Arguments& arguments) {
    Asked asked;
    const auto edition = arguments.value("--edition");
    if (!edition) return usage("--edition", "missing; write 2010 or 2024");
    if (*edition != "2010" && *edition != "2024")
        return usage("--edition", in_quotes(edition->substr(0, 60)) + " is no edition known here; write 2010 or 2024");
    asked.how.edition = *edition == "2010" ? sim::Edition::iso_13855_2010 : sim::Edition::iso_13855_2024;
    const auto approach = approach_of(arguments);
    if (!approach) return approach.error();
    asked.how.approach = approach.value();

    struct LengthOption {
        const char* name;
        const char* example;
        std::optional<std::int64_t>* into;
    };
    std::optional<std::int64_t> supplement, there;
    for (const LengthOption& option :
         {LengthOption{"--resolution", "14 mm", &asked.how.resolution_um},
          LengthOption{"--height", "300 mm", &asked.how.height_um},
          LengthOption{"--reaching-over", "850 mm", &asked.how.reaching_over_um},
          LengthOption{"--reaching-through", "0 mm", &asked.how.reaching_through_um},
          LengthOption{"--supplement", "20 mm", &supplement}, LengthOption{"--there", "520 mm", &there}}) {
        const auto read = quantity(arguments, option.name, sim::length_units(), option.example);
        if (!read) return read.error();
        *option.into = read.value();
    }
    asked.how.supplement_um = supplement.value_or(0);
    const auto time = quantity(arguments, "--time", sim::duration_units(), "90 ms");
    if (!time) return time.error();
    if (time.value()) asked.time = Duration{*time.value()};
    if (asked.time && *asked.time > proto::seconds(3600))
        return usage("--time", "is over an hour; write at most \"1 h\"");
    if (there && *there > 100'000'000) return usage("--there", "is over 100 m; write for example \"520 mm\"");
    if (there) asked.there = sim::micrometres(*there);
    if (!asked.time && !asked.there)
        return usage("--time", R"(missing; write --time "90 ms", or --there "520 mm" for the longest time)");
    if (const auto fault = sim::fault_in(asked.how)) return usage(option_of(fault->key), fault->message);
    return asked;
}

proto::Result<Finished, Failure> distance(const Request& request) {
    const auto read = asked_of(request.arguments);
    if (!read) return read.error();
    const Asked& asked = read.value();
    const sim::DistanceCase& how = asked.how;
    const std::string title =
        "ISO 13855:" + std::string(sim::name_of(how.edition)) + ", " + std::string(sim::name_of(how.approach));

    std::optional<Duration> longest;
    if (asked.there) {
        longest = sim::longest_overall(how, *asked.there);
        if (!longest) {
            return usage("--there", sim::written(*asked.there) +
                                        " is too short for any time, however short; write at least " +
                                        std::to_string(sim::whole_mm_up(sim::fixed_part(how))) + " mm");
        }
    }
    // Without a time: the longest one, and what it needs.
    const sim::Distance found = sim::needed_distance(how, asked.time.value_or(longest.value_or(Duration{})));
    const bool met = !asked.there || found.needed <= *asked.there;
    const std::string needed = std::to_string(sim::whole_mm_up(found.needed)) + " mm";

    Finished out;
    out.status = met ? Status::done : Status::not_met;
    out.page = Page(request.columns);
    if (!asked.time) {
        out.page.headline(sim::written(*longest), Hue::none,
                          "at most, from the demand to the end of the hazard, for " + sim::written(*asked.there) +
                              ". " + title + ".");
    } else if (!asked.there) {
        out.page.headline(needed, Hue::none, "needed. " + title + ".");
    } else {
        out.page.headline(met ? "FAR ENOUGH" : "TOO NEAR", met ? Hue::good : Hue::danger,
                          needed + " needed, " + sim::written(*asked.there) + " there. " + title + ".");
        out.page.paragraph("    ", "longest time for " + sim::written(*asked.there) + ": " + sim::written(*longest));
    }
    out.page.paragraph("    ", found.formula);
    if (sim::millimetres(sim::whole_mm_up(found.needed)) != found.needed)
        out.page.paragraph("    ", "rounded up: " + needed);
    for (std::size_t i = 0; i < found.cautions.size(); ++i)
        out.page.paragraph(i == 0 ? "Caution    " : "           ", found.cautions[i]);

    out.document = Value::Object{
        {"edition", sim::name_of(how.edition)},
        {"case", sim::name_of(how.approach)},
        {"time_ms", Value::of(asked.time)},
        {"needed_mm", mm_value(found.needed)},
        {"needed_whole_mm", sim::whole_mm_up(found.needed)},
        {"formula", found.formula},
        {"there_mm", asked.there ? mm_value(*asked.there) : Value()},
        {"spare_mm", asked.there ? mm_value(*asked.there - found.needed) : Value()},
        {"met", asked.there && asked.time ? Value(met) : Value()},
        {"longest_overall_ms", Value::of(longest)},
        {"cautions", Value::list_of(found.cautions)},
    };
    return out;
}

}  // namespace

Command distance_command() {
    constexpr auto one = OptionSpec::Values::one;
    return {
        .name = "distance",
        .group = Command::Group::tools,
        .does = "minimum distance of a safeguard by ISO 13855, or the longest time for a distance",
        .positional = {},
        .options = {{"--edition", "E", "of the standard: 2010 or 2024", one, "2010 2024"},
                    {"--case", "C", "right-angle, multi-beam, single-beam, parallel, mat, two-hand, interlocked-guard",
                     one, "right-angle multi-beam single-beam parallel mat two-hand interlocked-guard"},
                    {"--time", "T", "from the demand to the end of the hazard: response and stop"},
                    {"--there", "L", "distance at hand; without --time the longest time for it is told"},
                    {"--resolution", "D", "detection capability of a field"},
                    {"--height", "H", "of a field along the floor, 0 to 1000 mm"},
                    {"--reaching-over", "L", "reach over the field's upper edge, from the standard's table"},
                    {"--reaching-through", "L", "reach through a guard's opening, from ISO 13857"},
                    {"--supplement", "L", "added in the edition of 2024: uncertainty, wear of the brake"}},
        .without = {"--seed", "--out", "--jobs"},
        .example = R"(linkdrill distance --edition 2010 --case right-angle --time "90 ms" --resolution "14 mm")",
        .notes = {"Told in whole millimetres, rounded up; --json has the exact value."},
        .run = distance,
    };
}

}  // namespace tools
