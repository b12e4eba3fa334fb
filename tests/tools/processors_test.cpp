// Quotas of control groups as files say them, in the layout that cgroups(7) gives for both versions.
#include "tools/program/processors.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include <unistd.h>

namespace {

struct Groups {
    std::string root = "/tmp/linkdrill_groups_" + std::to_string(::getpid());
    Groups() { std::filesystem::create_directories(root); }
    ~Groups() { std::filesystem::remove_all(root); }
    Groups(const Groups&) = delete;
    Groups& operator=(const Groups&) = delete;
    void put(const std::string& name, const std::string& text) const {
        std::filesystem::create_directories(std::filesystem::path(root + "/" + name).parent_path());
        std::ofstream(root + "/" + name) << text;
    }
    [[nodiscard]] unsigned granted() const { return tools::processors_granted(root + "/self", root + "/mounted"); }
};

}  // namespace

TEST_CASE("processors: the quota of a group and of those above it, rounded up, and none where none is set") {
    const Groups groups;
    CHECK(groups.granted() == 0);
    groups.put("self", "0::/jobs/one\n");
    CHECK(groups.granted() == 0);
    groups.put("mounted/jobs/one/cpu.max", "max 100000\n");
    CHECK(groups.granted() == 0);
    groups.put("mounted/jobs/one/cpu.max", "50000 100000\n");
    CHECK(groups.granted() == 1);
    groups.put("mounted/jobs/one/cpu.max", "150000 100000\n");
    CHECK(groups.granted() == 2);
    groups.put("mounted/jobs/one/cpu.max", "400000 100000\n");
    CHECK(groups.granted() == 4);
    groups.put("mounted/jobs/cpu.max", "300000 100000\n");
    CHECK(groups.granted() == 3);
    for (const char* nonsense : {"", "abc", "1", "0 0", "-5 100000", "100000 0"}) {
        CAPTURE(nonsense);
        groups.put("mounted/jobs/one/cpu.max", nonsense);
        CHECK(groups.granted() == 3);
    }
}

TEST_CASE("processors: version 1, where the controller has a folder of its own") {
    const Groups groups;
    groups.put("self", "12:memory:/jobs\n4:cpu,cpuacct:/jobs\n1:name=systemd:/\n");
    groups.put("mounted/cpu,cpuacct/jobs/cpu.cfs_quota_us", "-1\n");
    groups.put("mounted/cpu,cpuacct/jobs/cpu.cfs_period_us", "100000\n");
    CHECK(groups.granted() == 0);
    groups.put("mounted/cpu,cpuacct/jobs/cpu.cfs_quota_us", "250000\n");
    CHECK(groups.granted() == 3);
    groups.put("mounted/memory/jobs/cpu.max", "100000 100000\n");
    CHECK(groups.granted() == 3);
}

TEST_CASE("processors: at least one, and no more than there are") { CHECK(tools::processors_allowed() >= 1); }
