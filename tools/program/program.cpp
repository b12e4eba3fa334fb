#include "tools/program/program.hpp"

#include <algorithm>
#include <cstdint>
#include <exception>
#include <functional>
#include <limits>
#include <new>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "tools/program/command_line.hpp"
#include "tools/program/console.hpp"
#include "tools/program/error_document.hpp"
#include "tools/program/help.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/log.hpp"
#include "tools/program/own_files.hpp"
#include "tools/program/processors.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::uint64_t jobs_max = 256;

int status_of(Status status) { return static_cast<int>(status); }

/// Prints the result; the disk behind standard output may be full.
int print(std::string_view text, Status status) {
    if (const auto trouble = write_out(text)) {
        write_error_line(machine_said_no("standard output", *trouble + "; the output is not whole").one_line());
        return status_of(Status::machine);
    }
    return status_of(status);
}

/// The same for what is made while it is printed.
int print_pieces(std::string text, const std::function<void(const Out&)>& pieces, Status status) {
    constexpr std::size_t together = std::size_t{64} * 1024;
    std::optional<std::string> trouble;
    pieces([&](std::string_view piece) {
        text += piece;
        if (text.size() >= together) {
            trouble = write_out(text);
            text.clear();
        }
        return !trouble;
    });
    if (!trouble) return print(text, status);
    write_error_line(machine_said_no("standard output", *trouble + "; the output is not whole").one_line());
    return status_of(Status::machine);
}

Value document_of(const Failure& failure) {
    Value::Object document{{"error", error_of(failure)}};
    if (!failure.all.empty()) document.push_back({"errors", errors_of(failure.all)});
    return document;
}

enum class Form : std::uint8_t { page, json };

int fail(const Failure& failure, Form form) {
    for (const Failure& one : failure.all.empty() ? std::vector<Failure>{failure} : failure.all) {
        write_error_line(one.one_line());
        log_line(one.one_line());
    }
    if (form == Form::json) return print(to_json(document_of(failure)), failure.status);
    return status_of(failure.status);
}

/// The common options as numbers.
proto::Result<Request, Failure> request_of(const Arguments& arguments) {
    Request request;
    request.arguments = arguments;
    const auto seed = arguments.number("--seed", 0, std::numeric_limits<std::uint64_t>::max());
    if (!seed) return seed.error();
    request.seed = seed.value();
    const auto jobs = arguments.number("--jobs", 1, jobs_max);
    if (!jobs) return jobs.error();
    // no result depends on it
    request.jobs = jobs.value() ? static_cast<unsigned>(*jobs.value()) : processors_allowed();
    request.out = arguments.value("--out");
    if (request.out && request.out->empty()) return usage("--out", "empty; write the name of a folder");
    if (arguments.has("--quiet") && arguments.has("--verbose"))
        return usage("--quiet", "does not go with --verbose; write one of them");
    request.columns = columns_of_output();
    return request;
}

int run_command_line(const RunCommand& wanted, Form form) {
    const proto::Result<Request, Failure> request = request_of(wanted.arguments);
    if (!request) return fail(request.error(), form);
    const Arguments& arguments = wanted.arguments;
    if (const auto failure = start_log({arguments.has("--verbose"), arguments.value("--log")}))
        return fail(*failure, form);

    if (const auto own = tell_readers_of_own_files(); !own) return fail(own.error(), form);
    log_line("linkdrill " LINKDRILL_VERSION ", command " + std::string(wanted.command->name));
    const proto::Result<Finished, Failure> result = wanted.command->run(request.value());
    if (!result) return fail(result.error(), form);

    const Finished& finished = result.value();
    log_line("finished with status " + std::to_string(status_of(finished.status)));
    if (const auto failure = end_log()) return fail(*failure, form);
    if (form == Form::json)
        return finished.whole_json ? print_pieces({}, finished.whole_json, finished.status)
                                   : print(to_json(finished.document), finished.status);
    const Colour colour = colour_of_output();
    if (arguments.has("--quiet")) return print(finished.page.head(colour), finished.status);
    if (finished.rows) return print_pieces(finished.page.text(colour), finished.rows, finished.status);
    return print(finished.page.text(colour), finished.status);
}

struct Answer {
    Form form;

    int operator()(Nothing) const { return print(greeting(), Status::done); }
    int operator()(ShowVersion) const { return print(version_lines(), Status::done); }
    int operator()(const ShowHelp& help) const {
        return print(help.command ? help_of(*help.command) : help_of_program(), Status::done);
    }
    int operator()(const RunCommand& wanted) const { return run_command_line(wanted, form); }
};

/// Also for a command line that cannot be read: whoever wrote --json in it reads JSON.
Form form_of(const std::vector<std::string>& typed) {
    for (const std::string& word : typed) {
        if (word == "--") break;
        if (word == "--json") return Form::json;
    }
    return Form::page;
}

}  // namespace

int run_program(int count, char** values) {
    end_with_starter();
    end_on_interrupt();
    end_on_no_memory();
    const std::vector<std::string> typed(values + (count > 0 ? 1 : 0), values + count);
    const Form form = form_of(typed);
    try {
        const proto::Result<Wanted, Failure> wanted = read_command_line(typed);
        if (!wanted) return fail(wanted.error(), form);
        return std::visit(Answer{form}, wanted.value());
    } catch (const std::bad_alloc&) {
        return fail(machine_said_no({}, "not enough memory"), form);
    } catch (const std::exception& error) {
        return fail(machine_said_no({}, std::string("unexpected: ") + error.what()), form);
    }
}

}  // namespace tools
