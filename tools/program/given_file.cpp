#include "tools/program/given_file.hpp"

#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

#include "sim/reading/read_cell.hpp"
#include "tools/program/file_failure.hpp"

namespace tools {
namespace {

constexpr const char* shown_name = "standard input";

/// All of standard input, or as much of it as shows that it is too long.
proto::Result<std::string, Failure> text_of_standard_input() {
    std::string text;
    std::array<char, 65536> piece;
    while (text.size() <= sim::file_bytes_max) {
        const ssize_t count = ::read(STDIN_FILENO, piece.data(), piece.size());
        if (count < 0 && errno == EINTR) continue;
        if (count < 0)
            return machine_said_no(shown_name, std::string("cannot be read: ") + std::strerror(errno) +
                                                   "; pipe a scenario into it, or name a file");
        if (count == 0) break;
        text.append(piece.data(), static_cast<std::size_t>(count));
    }
    if (text.size() > sim::file_bytes_max)
        return Failure{Status::bad_input,
                       shown_name,
                       0,
                       {},
                       "has over " + std::to_string(sim::file_bytes_max) + " bytes, more than a scenario may have"};
    if (const auto unfit = sim::unfit_text(text, text.size(), shown_name)) return failure_of(*unfit);
    return text;
}

}  // namespace

proto::Result<GivenFile, Failure> GivenFile::of(const std::string& typed) {
    GivenFile given(typed);
    if (given.from_standard_input()) {
        auto text = text_of_standard_input();
        if (!text) return text.error();
        given.text_ = std::move(text).value();
    }
    const auto kind = given.from_standard_input() ? sim::kind_of_text(given.text_, typed) : sim::kind_of_file(typed);
    if (!kind) return given.failure_of(kind.error());
    given.kind_ = kind.value();
    return given;
}

std::string GivenFile::name() const { return from_standard_input() ? shown_name : typed_; }

Failure GivenFile::failure_of(const sim::FileError& error) const {
    Failure failure = tools::failure_of(error);
    if (from_standard_input() && failure.file == typed_) failure.file = shown_name;
    return failure;
}

proto::Result<sim::Scenario, Failure> GivenFile::scenario() const {
    if (kind_ == sim::FileKind::module)
        return Failure{
            Status::bad_input, name(), 0, {}, "is a module, which has no link; name a scenario, or linkdrill check it"};
    auto read = from_standard_input() ? sim::scenario_in(text_, typed_) : sim::read_scenario(typed_);
    if (!read) return failure_of(read.error());
    sim::Scenario scenario = std::move(read).value();
    scenario.text = text_;
    return scenario;
}

bool GivenFile::has_several_links() const {
    return kind_ == sim::FileKind::scenario &&
           (from_standard_input() ? sim::has_several_links_in(text_, typed_) : sim::has_several_links(typed_));
}

proto::Result<sim::WholeCell, Failure> GivenFile::cell() const {
    auto read = from_standard_input() ? sim::cell_in(text_, typed_) : sim::read_cell(typed_);
    if (!read) return failure_of(read.error());
    sim::WholeCell cell = std::move(read).value();
    cell.text = text_;
    for (sim::CellLink& link : cell.links) link.alone.text = text_;
    return cell;
}

proto::Result<proto::Profile, Failure> GivenFile::profile() const {
    const auto read = from_standard_input() ? sim::profile_in(text_, name()) : sim::read_profile(typed_);
    if (!read) return failure_of(read.error());
    return read.value();
}

proto::Result<sim::ModuleLayout, Failure> GivenFile::module() const {
    const auto read = from_standard_input() ? sim::module_in(text_, name()) : sim::read_module(typed_);
    if (!read) return failure_of(read.error());
    return read.value();
}

}  // namespace tools
