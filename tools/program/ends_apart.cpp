#include "tools/program/ends_apart.hpp"

#include "proto/parameters.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Refusal;

Refusal what_differs(const sim::Scenario& s) {
    return proto::first_difference(proto::parameters_of(s.controller.link), proto::parameters_of(s.device.link));
}

Failure told(const sim::Scenario& s, const std::string& what, const std::string& so) {
    const std::string link = s.cell_link.empty() ? "the link" : "link " + s.cell_link;
    return {Status::not_met,
            s.file,
            0,
            {},
            link + " never starts: " + what + "; " + so + ". linkdrill check " + shell_word(s.file) +
                " says what each end shows, and the mend"};
}

std::string differs(const sim::Scenario& s, Refusal refusal) {
    return "its two ends disagree, " + refused_setting(refusal, full_names(s)) + " differs";
}

}  // namespace

std::optional<Failure> ends_apart(const sim::Scenario& s, const std::string& so) {
    for (const sim::TypedEnd* end : {&s.controller, &s.device})
        if (end->plays_the_other()) return told(s, end->name + " has the role of the other end", so);
    const Refusal refusal = what_differs(s);
    if (refusal == Refusal::none) return std::nullopt;
    return told(s, differs(s, refusal), so);
}

std::optional<Failure> telegrams_apart(const sim::Scenario& s, const std::string& so) {
    // one at a time, since the first difference hides the next
    const proto::LinkParameters c = proto::parameters_of(s.controller.link), d = proto::parameters_of(s.device.link);
    const bool payloads =
        c.payload_to_device != d.payload_to_device || c.payload_to_controller != d.payload_to_controller;
    const Refusal refusal = c.profile_identity != d.profile_identity     ? Refusal::profile
                            : c.exchange != d.exchange                   ? Refusal::exchange
                            : c.payload_to_device != d.payload_to_device ? Refusal::payload_to_device
                            : payloads                                   ? Refusal::payload_to_controller
                            : c.cycle_us != d.cycle_us                   ? Refusal::cycle
                                                                         : Refusal::none;
    if (refusal == Refusal::none) return std::nullopt;
    return told(s, differs(s, refusal), so);
}

}  // namespace tools
