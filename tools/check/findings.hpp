#pragma once
// What a check found, thing by thing, in the forms that pipelines read.
#include <string>
#include <vector>

#include "tools/program/failure.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct Finding {
    /// Of one kind each, with a name and a sentence in the SARIF document.
    enum class Rule : std::uint8_t { not_read, ends_differ, problem, promise_broken, caution };
    Rule rule = Rule::problem;
    std::string file;
    int line = 0;     ///< 1.., 0: of no line
    std::string key;  ///< empty: of none
    std::string message;

    /// Whether the file is not as it should be; a caution is only for a person to know.
    [[nodiscard]] bool fails() const { return rule != Rule::caution; }
    /// "FILE:LINE: key: message" as one physical line.
    [[nodiscard]] std::string one_line() const;
};

/// One file that was asked for.
struct CheckedFile {
    std::string file;
    Status status = Status::done;
    Value document;                 ///< as of that file alone
    std::vector<Failure> failures;  ///< why it could not be read; empty where it was
    std::vector<Finding> findings;
};

/// "not-read", "ends-differ" ...
std::string_view id_of(Finding::Rule rule);

/// What the document of a file that could be read tells of it.
std::vector<Finding> findings_in(const std::string& file, const Value& document);
Finding finding_of(const std::string& file, const Failure& failure);

/// SARIF 2.1.0 (OASIS standard), one run.
Value sarif_of(const std::vector<CheckedFile>& files);
/// A suite for each file, a case for each finding that fails, and one that passes where there is none.
std::string junit_of(const std::vector<CheckedFile>& files);

}  // namespace tools
