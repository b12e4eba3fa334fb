#pragma once
// How many processors this process may use: what its work is shared out to unless --jobs says otherwise.
#include <string>

namespace tools {

/// The processors that it may run on (taskset, a scheduler), but no more than its control groups grant it in time,
/// rounded up: a quota of one and a half is two. At least 1.
unsigned processors_allowed();

/// The quota of the control group that `membership` (such as /proc/self/cgroup) names and of all those above it, under
/// `mounted` (such as /sys/fs/cgroup), in whole processors, rounded up; 0 where none is set or nothing can be read. Of
/// both versions, as cgroups(7) and the kernel's documentation have them: cpu.max, or cpu.cfs_quota_us and
/// cpu.cfs_period_us.
unsigned processors_granted(const std::string& membership, const std::string& mounted);

}  // namespace tools
