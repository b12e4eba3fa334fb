// linkdrill desk: a page on which a link is laid out, tried and settled, until Ctrl-C.
#include <spawn.h>
#include <sys/wait.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <system_error>
#include <thread>

#include "tools/desk/desk.hpp"
#include "tools/program/command.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/secret.hpp"
#include "tools/text/text.hpp"
#include "tools/web/beat.hpp"

extern char** environ;  // NOLINT(readability-redundant-declaration): not every header tells it

namespace tools {
namespace {

namespace fs = std::filesystem;

std::string token() { return secret_text("0123456789abcdef", 32); }

std::string hour_now() {
    const std::time_t at = std::time(nullptr);
    std::tm parts{};
    localtime_r(&at, &parts);
    char text[16];
    return {text, std::strftime(text, sizeof text, "%H:%M:%S", &parts)};
}

/// Asks the computer to open an address, where it has a desktop; false: nobody can be asked.
bool open_in_browser(const std::string& address) {
    if (std::getenv("DISPLAY") == nullptr && std::getenv("WAYLAND_DISPLAY") == nullptr) return false;
    std::string program = "xdg-open", typed = address;
    std::array<char*, 3> words{program.data(), typed.data(), nullptr};
    posix_spawn_file_actions_t actions{};
    posix_spawn_file_actions_init(&actions);
    for (const int stream : {0, 1, 2})
        posix_spawn_file_actions_addopen(&actions, stream, "/dev/null", stream == 0 ? 0 : 1, 0);
    pid_t pid = -1;
    const int failed = posix_spawnp(&pid, program.c_str(), &actions, nullptr, words.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    if (failed != 0) return false;
    // it hands the address on and ends; nobody waits for it here
    std::thread([pid] {
        int unused = 0;
        ::waitpid(pid, &unused, 0);
    }).detach();
    return true;
}

/// The folder that is worked in, and the file below it.
struct Where {
    std::string folder, file;
};
proto::Result<Where, Failure> where_of(const Arguments& arguments) {
    Where where;
    where.file = arguments.value("FILE").value_or("");
    if (const auto folder = arguments.value("--folder")) {
        where.folder = *folder;
        if (where.file.empty()) return where;
        std::error_code error;
        const fs::path inside = fs::absolute(where.file, error).lexically_normal(),
                       whole = fs::absolute(where.folder, error).lexically_normal() / "";
        const fs::path below = inside.lexically_relative(whole);
        // named from the folder, or from here
        if (!below.empty() && !below.native().starts_with("..")) where.file = below.string();
        return where;
    }
    const fs::path file = where.file;
    where.folder = file.has_parent_path() ? file.parent_path().string() : ".";
    where.file = file.filename().string();
    return where;
}

/// At once, not as a page at the end: it is needed while the desk is open.
void say_where(const std::string& address, const Where& where, bool opened) {
    std::printf("Desk       %s\n", address.c_str());
    std::printf("Folder     %s\n", where.folder.c_str());
    if (!where.file.empty()) std::printf("File       %s\n", where.file.c_str());
    std::printf("%s\nCtrl-C ends it; what is not saved is kept beside its file.\n",
                opened ? "           It opens in your browser."
                       : "           Open that address in a browser on this computer.");
    std::fflush(stdout);
}

proto::Result<Finished, Failure> run(const Request& request) {
    const Arguments& arguments = request.arguments;
    const auto port = arguments.number("--port", 0, 65535);
    if (!port) return port.error();
    const auto where = where_of(arguments);
    if (!where) return where.error();
    auto folder = FolderBeneath::open(where.value().folder);
    if (!folder) return folder.error();
    const std::string secret = token();
    Desk desk({.version = LINKDRILL_VERSION, .secret = secret}, std::move(folder).value(),
              {.now =
                   [] {
                       return proto::Instant{std::chrono::steady_clock::now().time_since_epoch() /
                                             std::chrono::nanoseconds(1)};
                   },
               .hour = hour_now,
               .random = token});
    if (where.value().file.empty())
        desk.open_example();
    else if (const auto failure = desk.open(where.value().file))
        return *failure;

    std::optional<Beat> beat;
    beat.emplace([&] { desk.run_on(); });
    if (auto failure = beat->start("desk")) return *failure;
    const NoteInterrupt interrupt;
    const auto ready = [&](std::uint16_t found) {
        const std::string address = "http://127.0.0.1:" + std::to_string(found) + "/#" + secret;
        const bool opened = !arguments.has("--no-open") && open_in_browser(address);
        say_where(address, where.value(), opened);
    };
    constexpr std::size_t body_most = std::size_t{4} << 20U;  // a whole file, as forms write it
    const std::optional<Failure> failure =
        serve(desk, {.port = static_cast<std::uint16_t>(port.value().value_or(0)), .body_most = body_most}, ready,
              [&] { return interrupt.came(); });
    beat.reset();
    if (failure) return *failure;

    Finished out;
    out.status = Status::interrupted;
    out.page = Page(request.columns);
    out.page.line("Ended.");
    out.document = Value::Object{{"ended", true}};
    return out;
}

}  // namespace

Command desk_command() {
    return {
        .name = "desk",
        .group = Command::Group::then,
        .does = "lay out a link, try it and settle it, on a page in the browser",
        .positional = {"FILE", "scenario; without one an example runs", PositionalSpec::Need::optional},
        .options = {{"--folder", "DIR", "where files are opened and saved (default: that of FILE, else this one)"},
                    {"--port", "N", "port to listen on (default: a free one)"},
                    {"--no-open", "", "do not open the page in the browser"}},
        .without = {"--seed", "--out", "--jobs"},
        .example = "linkdrill desk scenarios/log_debarker/guards.toml",
        .notes = {"The page is for this computer alone, by the address printed at the start.",
                  "It writes scenarios and what run, report and sheet would write, all in that folder; everything it "
                  "does has its command line beside it."},
        .run = run,
    };
}

}  // namespace tools
