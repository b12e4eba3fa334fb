#pragma once
// Compares the two ends of a scenario as typed, before anything runs: what differs, what each end would show, where to
// mend it, and what no measure of the link can see.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/reach.hpp"
#include "sim/scenario/typed_address.hpp"

namespace sim {

struct Scenario;

/// At which end a difference is mended: where it is not as it was meant. `design`: nothing in the file says what was
/// meant, or what it says cannot be.
enum class MendAt : std::uint8_t { design, controller, device, both };
/// "controller"; empty for `design`.
std::string_view name_of(MendAt at);

/// What was typed at each end, as people read it. Where that is an address, or a pair of them, also as numbers.
struct TypedValues {
    std::string controller = {};
    std::string device = {};
    std::vector<TypedAddress> controller_addresses = {}, device_addresses = {};
    /// Of addresses the numbers count, not the base.
    [[nodiscard]] bool same() const;
};

struct Difference : TypedValues {
    std::string setting = {};             ///< plain name: "watchdog", "byte 0, bits 2 and 3"
    std::string seen_at_controller = {};  ///< what that end shows if this alone differs
    std::string seen_at_device = {};
    std::string mend = {};  ///< "name of the end: value to type", or "see the design ..."
    MendAt mend_at = MendAt::design;
    std::string note = {};  ///< how the mistake may have come about; may be empty
};

/// One setting on which the ends must agree, whether they do or not.
struct ComparedSetting : TypedValues {
    std::string setting = {};
    std::string seen_at_controller = {};  ///< what that end shows if this alone differs; of a pattern where it does not
    std::string seen_at_device = {};
    std::optional<std::string> meant = {};  ///< nothing where the file does not say it
    std::optional<TypedAddress> meant_address = {};
};

struct CrossCheck {
    std::uint64_t compared = 0;              ///< settings on which the ends must agree
    std::vector<ComparedSetting> settings;   ///< each of them, in the order in which they are compared
    std::vector<Difference> differences;     ///< in the order in which the link would refuse them, unseen ones last
    std::optional<std::uint32_t> signature;  ///< of the parameters, to be found at both ends; nothing if they differ
    std::vector<std::string> problems;       ///< what keeps the link from doing its task, though the ends may agree
    std::vector<std::string> undetectable;   ///< errors that no measure of this link sees, in words
    std::vector<std::string> cautions;       ///< what a person should know
    std::optional<KeptApart> apart = {};     ///< why no telegram of one end reaches the other; among the problems too
    std::vector<std::string> not_compared = {};  ///< what one end alone states of network or module, in words

    [[nodiscard]] bool ok() const { return differences.empty() && problems.empty(); }
};

/// Requires a scenario as read_scenario() gives it.
CrossCheck cross_check(const Scenario& scenario);

}  // namespace sim
