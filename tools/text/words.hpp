#pragma once
// Words for people. Files and JSON keep the names of the standard; a technician reads the plainer ones.
#include <cstdint>
#include <string>
#include <string_view>

#include "proto/endpoint.hpp"
#include "sim/judge/result.hpp"

namespace sim {
struct Fault;
struct Scenario;
}  // namespace sim

namespace tools {

/// "CRC", "number", "address", "watchdog" ...
std::string_view word_for(proto::Measure measure);
/// "stopped", "tolerated", "no effect", "DANGEROUS", "not fired".
std::string_view word_for(sim::Outcome outcome);
/// "starting", "running", "stopped", "waits for an acknowledgement".
std::string_view word_for(proto::State state);

/// The two ends' names without the words that both begin with: "press controller", "press I/O" -> "controller", "I/O".
struct EndNames {
    std::string controller, device;
    [[nodiscard]] const std::string& of(proto::End end) const {
        return end == proto::End::controller ? controller : device;
    }
};
EndNames short_names(const sim::Scenario& scenario);
EndNames full_names(const sim::Scenario& scenario);

/// The setting for which an end refuses to start, with the ends by their names.
std::string refused_setting(proto::Refusal refusal, const EndNames& full);
/// The word that goes with the name of a machine: "the press stands", "the rollers stand".
std::string_view with_name(const std::string& name, std::string_view one, std::string_view many);
/// With a capital letter and a full stop.
std::string as_sentence(std::string text);
/// "120 mm/s".
std::string speed_in_words(std::int64_t um_s);

/// "repetition, 3 back, beside the new one".
std::string words_of(const sim::Fault& fault, const sim::Scenario& scenario);
/// "C>D", "D>C", "both".
std::string way_of(const sim::InjectionResult& injection);
/// As files and documents name it: "to-device".
std::string_view name_of_way(sim::Direction way);
/// "I/O: CRC", "nobody", "-".
std::string caught_by(const sim::InjectionResult& injection, const EndNames& names);

/// What is wrong with a profile of which sim::may_be_all_zero(), and the mend.
std::string all_zero_caution();

/// The scenario's file as a command line names it, and which of its links where it has several.
std::string file_and_link(const sim::Scenario& scenario);

}  // namespace tools
