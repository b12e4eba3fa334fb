#include "tools/program/processors.hpp"

#include <algorithm>
#include <fstream>
#include <thread>

#include <sched.h>

namespace tools {
namespace {

unsigned whole(double quota, double period) {
    if (!(quota > 0.0) || !(period > 0.0)) return 0;
    return static_cast<unsigned>(std::clamp((quota + period - 1.0) / period, 1.0, 1e6));
}

unsigned granted_in(const std::string& folder) {
    std::string quota;
    double period = 0.0;
    if (std::ifstream file(folder + "/cpu.max"); file >> quota >> period)
        return quota == "max" ? 0 : whole(std::strtod(quota.c_str(), nullptr), period);
    double of_version_1 = 0.0;
    std::ifstream first(folder + "/cpu.cfs_quota_us"), second(folder + "/cpu.cfs_period_us");
    if (first >> of_version_1 && second >> period) return whole(of_version_1, period);
    return 0;
}

/// The least of the group's and of those above it.
unsigned granted_up_from(const std::string& mounted, std::string group) {
    unsigned least = 0;
    for (;;) {
        if (const unsigned here = granted_in(mounted + group); here != 0)
            least = least == 0 ? here : std::min(least, here);
        if (group.empty() || group == "/") return least;
        group.erase(group.rfind('/'));
    }
}

}  // namespace

unsigned processors_granted(const std::string& membership, const std::string& mounted) {
    unsigned least = 0;
    std::ifstream file(membership);
    // "0::/group" of version 2, "4:cpu,cpuacct:/group" of version 1
    for (std::string line; std::getline(file, line);) {
        const std::size_t first = line.find(':'), second = line.find(':', first + 1);
        if (first == std::string::npos || second == std::string::npos) continue;
        const std::string controllers = line.substr(first + 1, second - first - 1), group = line.substr(second + 1);
        if (!group.starts_with('/')) continue;
        if (!controllers.empty() && ("," + controllers + ",").find(",cpu,") == std::string::npos) continue;
        const std::string below = controllers.empty() ? mounted : mounted + "/" + controllers;
        if (const unsigned here = granted_up_from(below, group); here != 0)
            least = least == 0 ? here : std::min(least, here);
    }
    return least;
}

unsigned processors_allowed() {
    cpu_set_t allowed;
    unsigned count = std::max(std::thread::hardware_concurrency(), 1U);
    // fails on computers with more than 1024 processors, which then count all
    if (::sched_getaffinity(0, sizeof allowed, &allowed) == 0) count = static_cast<unsigned>(CPU_COUNT(&allowed));
    const unsigned granted = processors_granted("/proc/self/cgroup", "/sys/fs/cgroup");
    return std::max(granted == 0 ? count : std::min(count, granted), 1U);
}

}  // namespace tools
