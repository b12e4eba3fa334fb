#include "sim/studies/network_check.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "sim/scenario/network.hpp"
#include "sim/scenario/reach.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {
namespace {

using Kind = NetworkFinding::Kind;

/// The end that the words of a mend begin with.
MendAt end_of(const Scenario& scenario, const std::string& mend) {
    if (mend.starts_with(scenario.controller.name + ":")) return MendAt::controller;
    if (mend.starts_with(scenario.device.name + ":")) return MendAt::device;
    return MendAt::design;
}

void add_difference(const Scenario& scenario, const NetworkFinding& finding, CrossCheck& result) {
    Difference differs;
    differs.controller = finding.what.controller;
    differs.device = finding.what.device;
    differs.setting = finding.what.setting;
    if (finding.apart) differs.seen_at_controller = differs.seen_at_device = no_answer_shown;
    differs.mend = finding.what.mend;
    differs.mend_at = end_of(scenario, finding.what.mend);
    result.differences.push_back(std::move(differs));
    if (!finding.apart) result.cautions.push_back(finding.what.setting + ": " + finding.what.why);
}

std::string problem_in_words(const NetworkFinding& finding) {
    if (finding.apart) return in_words(finding.what) + ". Both ends show \"" + no_answer_shown + "\"";
    return finding.what.setting + ": " + finding.what.why + "; mend: " + finding.what.mend;
}

void note_not_compared(const std::string& what, CrossCheck& result) {
    result.not_compared.push_back(what);
    result.cautions.push_back("not compared: " + what);
}

void add(const Scenario& scenario, const NetworkFinding& finding, CrossCheck& result) {
    switch (finding.kind) {
        case Kind::difference: return add_difference(scenario, finding, result);
        case Kind::problem: result.problems.push_back(problem_in_words(finding)); return;
        case Kind::remark: result.cautions.push_back(finding.what.setting + ": " + finding.what.why); return;
        case Kind::not_compared: return note_not_compared(finding.what.why, result);
    }
}

std::string to(const Scenario& s, Direction direction) { return "to " + s.end(receiver(direction)).name; }

std::string place_in_words(const ModuleField& field) {
    const std::string byte = "byte " + std::to_string(field.place.byte);
    if (!field.type) return byte + " bit " + std::to_string(field.place.bit);
    return byte + ", " + std::string(name_of(*field.type));
}

/// One end beside the module that is typed there.
class ModuleFields {
  public:
    ModuleFields(const Scenario& scenario, const TypedEnd& end, const ModuleLayout& layout, CrossCheck& result)
        : s_(scenario), end_(end), layout_(layout), result_(result) {}

    void compare() {
        for (const Direction way : {Direction::to_device, Direction::to_controller}) {
            if (layout_.describes(way)) continue;
            note_not_compared(
                "module " + layout_.name + " of " + end_.name + " says nothing of its bits and values " + to(s_, way),
                result_);
        }
        for (const TypedBit& bit : end_.bits) {
            const auto signal = std::find_if(s_.signals.begin(), s_.signals.end(),
                                             [&](const Signal& one) { return one.name == bit.signal; });
            if (signal == s_.signals.end() || !layout_.describes(signal->direction)) continue;
            if (any_field([&](const ModuleField& f) {
                    return !f.type && f.direction == signal->direction && f.place == bit.place;
                }))
                continue;
            wrong(signal->direction, "bit",
                  bit.signal + " is typed at byte " + std::to_string(bit.place.byte) + " bit " +
                      std::to_string(bit.place.bit));
        }
        for (std::size_t i = 0; i < s_.values.all.size(); ++i) {
            const SafeValue& value = s_.values.all[i];
            const TypedValue& typed = s_.values.at(end_.link.end, i);
            if (!layout_.describes(value.direction)) continue;
            if (any_field([&](const ModuleField& f) {
                    return f.type == typed.type && f.direction == value.direction && f.place.byte == typed.at;
                }))
                continue;
            wrong(
                value.direction, "value",
                value.name + " is typed at byte " + std::to_string(typed.at) + ", " + std::string(name_of(typed.type)));
        }
    }

  private:
    template <class Is>
    [[nodiscard]] bool any_field(Is is) const {
        return std::any_of(layout_.fields.begin(), layout_.fields.end(), is);
    }
    void wrong(Direction way, const char* what, const std::string& typed) {
        std::string has;
        for (const ModuleField& field : layout_.fields)
            if (field.direction == way && field.type.has_value() == (std::string_view(what) == "value"))
                has += (has.empty() ? "" : "; ") + field.name + " at " + place_in_words(field);
        result_.problems.push_back("module " + layout_.name + " has no such " + what + " " + to(s_, way) + ": at " +
                                   end_.name + " " + typed + ", and the module has " +
                                   (has.empty() ? "no " + std::string(what) + " there" : has) +
                                   "; see the design which is right");
    }

    const Scenario& s_;
    const TypedEnd& end_;
    const ModuleLayout& layout_;
    CrossCheck& result_;
};

}  // namespace

void compare_network(const Scenario& scenario, CrossCheck& result) {
    const NetworkReport report = network_report(scenario);
    for (const NetworkCompared& one : report.compared) {
        ++result.compared;
        const auto found = std::find_if(report.findings.begin(), report.findings.end(), [&](const NetworkFinding& f) {
            return f.what.setting == one.setting && f.kind != Kind::remark;
        });
        const std::string shown = found == report.findings.end() || found->apart ? no_answer_shown : "";
        ComparedSetting compared;
        compared.controller = one.controller;
        compared.device = one.device;
        compared.setting = one.setting;
        compared.seen_at_controller = compared.seen_at_device = shown;
        result.settings.push_back(std::move(compared));
    }
    for (const NetworkFinding& finding : report.findings) add(scenario, finding, result);
    result.apart = kept_apart(scenario);
}

void compare_module_fields(const Scenario& scenario, CrossCheck& result) {
    for (const TypedEnd* end : {&scenario.controller, &scenario.device})
        if (const FittedTyped* fitted = fitted_of(*end); fitted != nullptr && fitted->layout)
            ModuleFields(scenario, *end, *fitted->layout, result).compare();
}

}  // namespace sim
