#include "sim/reading/shipped.hpp"

#include <filesystem>
#include <system_error>
#include <utility>

namespace sim {
namespace {

std::string& folder_told() {
    static std::string folder;
    return folder;
}

}  // namespace

void set_shipped_scenarios(std::string folder) { folder_told() = std::move(folder); }

const std::string& shipped_scenarios() { return folder_told(); }

std::string shipped_file(std::string_view name) {
    const std::string here = "scenarios/" + std::string(name);
    std::error_code error;
    if (shipped_scenarios().empty() || std::filesystem::exists(here, error)) return here;
    return shipped_scenarios() + "/" + std::string(name);
}

}  // namespace sim
