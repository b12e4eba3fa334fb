#pragma once
// Why a command could not do what it was asked for, in one line that names what, where and the mend.
#include <string>
#include <vector>

namespace tools {

/// The program's exit statuses.
enum class Status : int {
    done = 0,
    not_met = 1,    ///< done, but a requirement is not met, an expectation failed or something dangerous happened
    bad_input = 2,  ///< wrong usage or a bad input file
    machine = 3,    ///< the computer said no: disk full, no right to read or write
    interrupted = 130,
};

struct Failure {
    Status status = Status::bad_input;
    std::string file;  ///< empty: none
    int line = 0;      ///< 1.., 0: none
    std::string key;   ///< dotted key of the file, or the option; empty: none
    std::string message;
    std::vector<Failure> all = {};  ///< where more than one thing is wrong: each, this one too

    /// "FILE:LINE: key: message", without what is missing, as one physical line.
    [[nodiscard]] std::string one_line() const;
};

/// Wrong usage: `where` is the option or argument.
Failure usage(std::string where, std::string message);
/// The computer said no about `file`.
Failure machine_said_no(std::string file, std::string message);

}  // namespace tools
