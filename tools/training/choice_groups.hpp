#pragma once
// What is chosen lies in five groups, by what it is for; none says whether a choice is right.
#include <array>

#include "tools/training/vocabulary.hpp"

namespace tools {

/// In the order in which people go about it.
inline constexpr auto group_words = std::to_array<Word>(
    {{"make-safe", "Make safe"}, {"look", "Look"}, {"mend", "Mend"}, {"return", "Return to service"}, {"ask", "Ask"}});

/// Something to be chosen and the group that it lies in.
struct Grouped {
    std::string_view id;
    OneOf<group_words> group;
};

/// How to behave before anything else; one line for each of sim::conduct_words.
inline constexpr auto conduct_groups = std::to_array<Grouped>({{"keep-out", "make-safe"},
                                                               {"people-back", "make-safe"},
                                                               {"leave-stopped", "make-safe"},
                                                               {"emergency-stop", "make-safe"},
                                                               {"lock-out", "make-safe"},
                                                               {"tell-shift", "ask"},
                                                               {"tell-others", "ask"},
                                                               {"acknowledge-first", "return"}});

/// The action cards; one line for each card of scenarios/drills/actions.toml.
inline constexpr auto card_groups = std::to_array<Grouped>(
    {{"lock-out", "make-safe"},     {"out-of-service", "make-safe"}, {"bridge-guard", "make-safe"},
     {"wait-and-see", "look"},      {"examine-cable", "look"},       {"test-fibre", "look"},
     {"measure-supply", "look"},    {"shield-earth", "look"},        {"walk-rope", "look"},
     {"reach-in", "look"},          {"power-cycle", "mend"},         {"raise-watchdog", "mend"},
     {"replace-io", "mend"},        {"replace-converter", "mend"},   {"set-discard", "mend"},
     {"change-addresses", "mend"},  {"type-from-sheet", "mend"},     {"type-at-controller", "mend"},
     {"plugs-back", "mend"},        {"restart-radio", "mend"},       {"change-resend", "mend"},
     {"more-missing", "mend"},      {"replace-clock-end", "mend"},   {"remove-object", "mend"},
     {"replace-contact", "mend"},   {"acknowledge-early", "return"}, {"hold-acknowledge", "return"},
     {"tools-out", "return"},       {"look-zone", "return"},         {"locks-off", "return"},
     {"cut-lock", "return"},        {"watch-cycle", "return"},       {"reset-guard", "return"},
     {"acknowledge", "return"},     {"demand-guards", "return"},     {"push-by-hand", "return"},
     {"restart-machine", "return"}, {"stop-once", "return"},         {"carry-on", "return"},
     {"call-engineer", "ask"},      {"network-people", "ask"},       {"engineer-load", "ask"},
     {"unplug-stranger", "ask"}});

}  // namespace tools
