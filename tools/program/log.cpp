#include "tools/program/log.hpp"

#include <memory>
#include <vector>

#include <spdlog/sinks/basic_file_sink.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include "tools/text/text.hpp"

namespace tools {
namespace {

struct Log {
    std::shared_ptr<spdlog::logger> logger;
    std::string file;
    std::string trouble;  ///< the first thing that went wrong while writing
};

Log& the_log() {
    static Log log;
    return log;
}

}  // namespace

std::optional<Failure> start_log(const LogSettings& settings) {
    std::vector<spdlog::sink_ptr> sinks;
    if (settings.on_standard_error) {
        sinks.push_back(std::make_shared<spdlog::sinks::stderr_sink_mt>());
        sinks.back()->set_pattern("linkdrill: %v");
    }
    if (settings.file) {
        try {
            sinks.push_back(std::make_shared<spdlog::sinks::basic_file_sink_mt>(*settings.file));
        } catch (const spdlog::spdlog_ex& error) {
            return machine_said_no(*settings.file, std::string(error.what()) + "; give --log another file");
        }
        sinks.back()->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %v");
    }
    Log& log = the_log();
    log.file = settings.file.value_or("");
    if (sinks.empty()) return std::nullopt;
    log.logger = std::make_shared<spdlog::logger>("linkdrill", sinks.begin(), sinks.end());
    log.logger->set_error_handler([](const std::string& message) {
        if (the_log().trouble.empty()) the_log().trouble = message;
    });
    return std::nullopt;
}

void log_line(std::string_view text) {
    if (the_log().logger) the_log().logger->info(on_one_line(text));
}

std::optional<Failure> end_log() {
    Log& log = the_log();
    if (!log.logger) return std::nullopt;
    log.logger->flush();
    log.logger.reset();
    if (log.trouble.empty()) return std::nullopt;
    return machine_said_no(log.file, log.trouble + "; the log is not whole");
}

}  // namespace tools
