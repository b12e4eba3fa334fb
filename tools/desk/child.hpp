#pragma once
// A command of this program, run beside the desk in a process of its own: whatever it takes or breaks, the desk goes
// on.
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"

namespace tools {

class Child {
  public:
    /// What a child may say on each of its outputs before the rest is cut off.
    static constexpr std::size_t output_bytes_max = std::size_t{64} << 20U;

    struct Start {
        std::vector<std::string> arguments;  ///< after the program's name
        std::string folder;                  ///< where it works
        std::string input;                   ///< on its standard input
    };
    /// The program that runs now, once more. Or why not, in a sentence.
    static proto::Result<Child, std::string> start(const Start& start);
    Child(Child&& other) noexcept;
    Child& operator=(Child&& other) noexcept;
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;
    /// Ends it, if it still runs, and waits for that.
    ~Child();

    /// Its exit status once it is over, 128 and more where a signal ended it; nothing while it runs. Never waits.
    std::optional<int> over();
    /// Others come first from now on, where the computer is busy.
    void stand_back() const;
    /// Asks it to end, as Ctrl-C would: what it has finished it keeps.
    void stop();
    [[nodiscard]] std::string output() const { return said_on(output_); }
    /// The last whole line of its standard error; empty if there is none.
    [[nodiscard]] std::string last_line() const;
    [[nodiscard]] std::string errors() const { return said_on(errors_); }

  private:
    Child(int pid, int output, int errors) : pid_(pid), output_(output), errors_(errors) {}
    [[nodiscard]] static std::string said_on(int descriptor);
    void let_go();

    int pid_ = -1;  ///< -1: over, or moved from
    int output_ = -1, errors_ = -1;
    std::optional<int> status_;
};

}  // namespace tools
