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
    /// Lines of the caller's own, one for a terminal and one for elsewhere, if it is time for one.
    template <class Lines>
    void tell_lines(Lines make) {
        if (!due()) return;
        const auto [terminal, elsewhere] = make(std::chrono::duration<double>(Clock::now() - begun_).count());
        write(terminal_ ? terminal : elsewhere);
    }

  private:
    using Clock = std::chrono::steady_clock;
    /// Time for a line: then the next is due so much later.
    [[nodiscard]] bool due();
    void write(const std::string& line);
    std::string what_;
    bool shown_, terminal_;
    bool line_open_ = false;
    Clock::time_point begun_, last_;
};

}  // namespace tools
