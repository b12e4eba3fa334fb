#include "tools/program/failure.hpp"

#include <utility>

#include "tools/text/text.hpp"

namespace tools {

std::string Failure::one_line() const {
    std::string out = file.empty() ? "linkdrill" : file;
    if (line > 0) out += ":" + std::to_string(line);
    out += ": ";
    if (!key.empty()) out += key + ": ";
    return on_one_line(out + message);
}

Failure usage(std::string where, std::string message) {
    return {Status::bad_input, {}, 0, std::move(where), std::move(message)};
}

Failure machine_said_no(std::string file, std::string message) {
    return {Status::machine, std::move(file), 0, {}, std::move(message)};
}

}  // namespace tools
