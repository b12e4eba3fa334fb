#pragma once
// How far long work has come, on standard error: on a terminal one line that is written anew in its place, else a plain
// line every ten seconds. Nothing for work of under a second, and nothing with --quiet.
#include <chrono>
#include <string>
#include <string_view>

namespace tools {

class Progress {
  public:
    enum class Shown { yes, no };
    Progress(std::string what, Shown shown);
    /// Leaves the line of a terminal empty.
    ~Progress();
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

    /// `share` 0..1 is done; `detail` follows it.
    void tell(double share, std::string_view detail = {});

  private:
    using Clock = std::chrono::steady_clock;
    std::string what_;
    bool shown_, terminal_;
    bool line_open_ = false;
    Clock::time_point begun_, last_;
};

}  // namespace tools
