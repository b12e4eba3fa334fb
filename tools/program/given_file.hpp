#pragma once
// A scenario or profile as it is named on the command line: a file, or "-" for standard input.
#include <string>

#include "proto/profile.hpp"
#include "proto/result.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// What is typed for standard input. What a scenario from there names is looked for in the working folder.
inline constexpr const char* standard_input = "-";

class GivenFile {
  public:
    /// Reads standard input, which can be read once, or tells by its keys what the file is; or what is wrong with it.
    static proto::Result<GivenFile, Failure> of(const std::string& typed);

    [[nodiscard]] sim::FileKind kind() const { return kind_; }
    [[nodiscard]] bool is_profile() const { return kind_ == sim::FileKind::profile; }
    [[nodiscard]] bool from_standard_input() const { return from_standard_input_; }
    /// For messages: the file as typed, or "standard input".
    [[nodiscard]] std::string name() const;

    /// Of a scenario file: it has several links.
    [[nodiscard]] bool has_several_links() const;
    [[nodiscard]] proto::Result<sim::WholeCell, Failure> cell() const;
    /// Of a file with one link.
    [[nodiscard]] proto::Result<sim::Scenario, Failure> scenario() const;
    [[nodiscard]] proto::Result<proto::Profile, Failure> profile() const;
    [[nodiscard]] proto::Result<sim::ModuleLayout, Failure> module() const;

  private:
    explicit GivenFile(std::string typed) : from_standard_input_(typed == standard_input), typed_(std::move(typed)) {}
    [[nodiscard]] Failure failure_of(const sim::FileError& error) const;

    bool from_standard_input_;
    std::string typed_;
    std::string text_;  ///< of standard input
    sim::FileKind kind_ = sim::FileKind::scenario;
};

}  // namespace tools
