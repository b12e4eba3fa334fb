#include "tools/store/provenance.hpp"

#include <fstream>
#include <iterator>
#include <span>

#include "proto/parameters.hpp"
#include "proto/profile.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/program/made_by.hpp"

namespace tools {
namespace {

/// FNV-1a, 64 bits (RFC 9923).
std::uint64_t mixed(std::uint64_t hash, std::uint64_t byte) { return (hash ^ byte) * 0x100000001B3ULL; }

/// What a module's file says, but for words that only people read.
std::uint64_t mixed(std::uint64_t hash, const sim::ModuleLayout& layout) {
    hash = mixed(mixed(hash, layout.to_device), layout.to_controller);
    for (const sim::ModuleField& field : layout.fields) {
        hash = mixed(mixed(hash, static_cast<std::uint64_t>(field.direction)), field.place.byte);
        hash = mixed(mixed(hash, field.place.bit), field.type ? static_cast<std::uint64_t>(*field.type) + 1 : 0);
    }
    return hash;
}

}  // namespace

std::string text_of(const sim::Scenario& scenario) {
    if (!scenario.text.empty()) return scenario.text;
    std::ifstream file(scenario.file, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::string fingerprint_of_file(const sim::Scenario& scenario) {
    const std::string text = text_of(scenario);
    if (text.empty()) return {};
    std::uint64_t hash = 0xCBF29CE484222325ULL;
    for (const char c : text) hash = mixed(hash, static_cast<unsigned char>(c));
    for (const char c : scenario.cell_link) hash = mixed(hash, static_cast<unsigned char>(c));
    for (const sim::TypedEnd* end : {&scenario.controller, &scenario.device}) {
        const std::uint32_t identity = proto::identity_of(end->link.profile);
        for (unsigned shift = 0; shift < 32; shift += 8) hash = mixed(hash, identity >> shift & 0xFFU);
        if (const sim::FittedTyped* fitted = sim::fitted_of(*end); fitted != nullptr && fitted->layout)
            hash = mixed(hash, *fitted->layout);
    }
    return sim::written_hex(hash, 16);
}

Value with_provenance(const Value& document, const sim::Scenario& scenario) {
    Value::Object members = document.object() != nullptr ? *document.object() : Value::Object{};
    if (!scenario.cell_link.empty() && document.find("link") == nullptr)
        members.push_back({"link", scenario.cell_link});
    if (document.find("version") == nullptr) members.push_back({"version", LINKDRILL_VERSION});
    if (document.find("scenario_fingerprint") == nullptr)
        members.push_back({"scenario_fingerprint", Value::text_or_null(fingerprint_of_file(scenario))});
    if (document.find("made_by") == nullptr) members.push_back({"made_by", made_by()});
    return members;
}

}  // namespace tools
