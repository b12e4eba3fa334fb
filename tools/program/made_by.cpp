#include "tools/program/made_by.hpp"

#include <algorithm>

#include "sim/integrity/dual_kernel.hpp"

namespace tools {
namespace {

constexpr std::ptrdiff_t builds_most = 20;

}  // namespace

const std::string& made_by() {
    static const std::string made =
        std::string(built_from) + ", kernel " + sim::dual::best_kernel().name + ", " + std::string(built_with);
    return made;
}

void add_builds(std::string& lines, std::string_view more) {
    while (!more.empty()) {
        const std::string_view line = more.substr(0, more.find('\n'));
        more.remove_prefix(std::min(line.size() + 1, more.size()));
        const bool there = ("\n" + lines + "\n").find("\n" + std::string(line) + "\n") != std::string::npos;
        if (line.empty() || there || std::count(lines.begin(), lines.end(), '\n') + 1 >= builds_most) continue;
        lines += (lines.empty() ? "" : "\n") + std::string(line);
    }
}

}  // namespace tools
