#include "tools/check/check_files.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include "sim/reading/all_problems.hpp"
#include "tools/check/findings.hpp"
#include "tools/check/same_addresses.hpp"
#include "tools/program/error_document.hpp"
#include "tools/program/file_failure.hpp"
#include "tools/program/given_file.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// That failure, and what else keeps the file from being read.
std::vector<Failure> all_failures(const std::string& file, const Failure& first) {
    std::error_code error;
    std::vector<Failure> all;
    // standard input can be read once
    if (first.status == Status::bad_input && file != standard_input && !std::filesystem::is_directory(file, error))
        for (const sim::FileError& one : sim::all_problems_of(file)) all.push_back(failure_of(one));
    const bool known = std::any_of(all.begin(), all.end(), [&](const Failure& one) {
        return one.file == first.file && one.line == first.line && one.key == first.key;
    });
    if (!known) all.insert(all.begin(), first);
    return all;
}

CheckedFile checked(const std::string& file, const Request& request, CheckOne check_one) {
    CheckedFile out;
    out.file = file;
    const proto::Result<Finished, Failure> found = check_one(file, request);
    if (!found) {
        out.status = found.error().status;
        out.failures = all_failures(file, found.error());
        for (const Failure& one : out.failures) out.findings.push_back(finding_of(file, one));
        return out;
    }
    out.status = found.value().status;
    out.document = found.value().document;
    out.findings = findings_in(file, out.document);
    return out;
}

Value described(const CheckedFile& file) {
    Value::Object all{{"file", file.file}, {"status", static_cast<int>(file.status)}};
    if (!file.failures.empty()) {
        all.push_back({"ok", false});
        all.push_back({"errors", errors_of(file.failures)});
    } else if (const Value::Object* members = file.document.object()) {
        for (const Value::Member& member : *members)
            if (member.key != "file") all.push_back(member);
    }
    return all;
}

Status worst_of(const std::vector<CheckedFile>& files) {
    Status worst = Status::done;
    for (const CheckedFile& file : files) worst = std::max(worst, file.status);
    return worst;
}

/// A line for each file, and for each thing found in it one that is not broken, to be found by programs too.
std::string lines_of(const CheckedFile& file) {
    std::string lines = std::string(file.status == Status::done ? "ok    " : "FAIL  ") + plain(file.file) + "\n";
    for (const Finding& finding : file.findings)
        if (finding.fails()) lines += "    " + finding.one_line() + "\n";
    return lines;
}

Finished told(const std::vector<CheckedFile>& files, Columns columns) {
    const auto count = [&](auto is) { return static_cast<std::size_t>(std::count_if(files.begin(), files.end(), is)); };
    const std::size_t good = count([](const CheckedFile& f) { return f.status == Status::done; });
    const std::size_t not_read = count([](const CheckedFile& f) { return !f.failures.empty(); });
    Page page(columns);
    std::string text = counted(files.size(), "file", "files") + ": " + std::to_string(good) + " as they should be";
    if (files.size() - good - not_read != 0) text += ", " + std::to_string(files.size() - good - not_read) + " not";
    if (not_read != 0) text += ", " + std::to_string(not_read) + " cannot be read";
    const bool ok = good == files.size();
    page.headline(ok ? "PASS" : "FAIL", ok ? Hue::good : Hue::danger, text + ".");
    page.blank();
    Value::List described_files;
    for (const CheckedFile& file : files) described_files.push_back(described(file));
    return {.status = worst_of(files),
            .document = Value::Object{{"ok", ok}, {"files", std::move(described_files)}},
            .page = std::move(page),
            .rows = [files](const Out& out) {
                for (const CheckedFile& file : files)
                    if (!out(lines_of(file))) return;
            }};
}

/// In a form for pipelines, in place of the page.
Finished in_form(const std::vector<CheckedFile>& files, std::string text, Columns columns) {
    return {.status = worst_of(files),
            .document = {},
            .page = Page(columns),
            .rows = [text = std::move(text)](const Out& out) { out(text); }};
}

}  // namespace

proto::Result<Finished, Failure> check_files(const Request& request, CheckOne check_one) {
    const Arguments& arguments = request.arguments;
    const std::optional<std::string> form = arguments.value("--format");
    if (form && *form != "junit" && *form != "sarif")
        return usage("--format", in_quotes(form->substr(0, 60)) + " is none of them; write junit or sarif");
    for (const char* other : {"--json", "--quiet"})
        if (form && arguments.has(other))
            return usage("--format", "does not go with " + std::string(other) + "; write one of them");

    const std::vector<std::string> names = arguments.values("FILE");
    if (std::count(names.begin(), names.end(), standard_input) > 1)
        return usage(standard_input, "standard input can be read once; name it once");
    if (names.size() == 1 && !form) {
        proto::Result<Finished, Failure> found = check_one(names.front(), request);
        if (found) return found;
        Failure failure = found.error();
        std::vector<Failure> all = all_failures(names.front(), failure);
        if (all.size() > 1) failure.all = std::move(all);
        return failure;
    }
    std::vector<CheckedFile> files;
    for (const std::string& name : names) files.push_back(checked(name, request, check_one));
    find_same_addresses(files);
    if (!form) return told(files, request.columns);
    return in_form(files, *form == "junit" ? junit_of(files) : to_json(sarif_of(files)), request.columns);
}

}  // namespace tools
