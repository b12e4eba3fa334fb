#include "tools/desk/child.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <utility>

#include "tools/program/interrupt.hpp"

extern char** environ;  // NOLINT(readability-redundant-declaration): not every header tells it

namespace tools {
namespace {

constexpr int signal_base = 128;  ///< of exit statuses, as shells count them

/// A file in memory that no other process can name; -1 if there is none to be had.
int nameless_file(const char* name) { return memfd_create(name, MFD_CLOEXEC); }

bool write_all(int descriptor, const std::string& text) {
    std::size_t done = 0;
    while (done < text.size()) {
        const ssize_t written = ::write(descriptor, text.data() + done, text.size() - done);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        done += static_cast<std::size_t>(written);
    }
    return ::lseek(descriptor, 0, SEEK_SET) == 0;
}

/// Closes what start() opened and does not hand on.
struct Files {
    int input = nameless_file("input"), output = nameless_file("output"), errors = nameless_file("errors");
    Files() = default;
    Files(const Files&) = delete;
    Files& operator=(const Files&) = delete;
    ~Files() {
        for (const int one : {input, output, errors})
            if (one >= 0) ::close(one);
    }
    [[nodiscard]] bool there() const { return input >= 0 && output >= 0 && errors >= 0; }
};

struct SpawnPlan {
    posix_spawn_file_actions_t actions{};
    posix_spawnattr_t attributes{};
    SpawnPlan() {
        posix_spawn_file_actions_init(&actions);
        posix_spawnattr_init(&attributes);
    }
    SpawnPlan(const SpawnPlan&) = delete;
    SpawnPlan& operator=(const SpawnPlan&) = delete;
    ~SpawnPlan() {
        posix_spawn_file_actions_destroy(&actions);
        posix_spawnattr_destroy(&attributes);
    }
};

void plan_streams(SpawnPlan& plan, const Files& files, const std::string& folder) {
    posix_spawn_file_actions_adddup2(&plan.actions, files.input, STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&plan.actions, files.output, STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&plan.actions, files.errors, STDERR_FILENO);
    // a socket of the desk that lived on in a child would keep its port
    posix_spawn_file_actions_addclosefrom_np(&plan.actions, STDERR_FILENO + 1);
    posix_spawn_file_actions_addchdir_np(&plan.actions, folder.c_str());
}

/// A group of its own: Ctrl-C is for the desk, which then ends its children itself. Nothing is ignored there.
void plan_signals(SpawnPlan& plan) {
    sigset_t none, usual;
    sigemptyset(&none);
    sigemptyset(&usual);
    for (const int one : {SIGINT, SIGTERM, SIGPIPE}) sigaddset(&usual, one);
    posix_spawnattr_setsigmask(&plan.attributes, &none);
    posix_spawnattr_setsigdefault(&plan.attributes, &usual);
    posix_spawnattr_setpgroup(&plan.attributes, 0);
    posix_spawnattr_setflags(
        &plan.attributes, static_cast<short>(POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETPGROUP));
}

}  // namespace

proto::Result<Child, std::string> Child::start(const Start& start) {
    Files files;
    if (!files.there()) return std::string("no memory for a process: ") + std::strerror(errno);
    if (!write_all(files.input, start.input)) return std::string("what is typed does not fit into memory");
    SpawnPlan plan;
    plan_streams(plan, files, start.folder);
    plan_signals(plan);
    // this very program, also if its file has been put anew since
    std::string program = "/proc/self/exe";
    std::array<char, 4096> path{};
    const ssize_t length = ::readlink(program.c_str(), path.data(), path.size() - 1);
    if (length > 0 && ::access(path.data(), X_OK) == 0) program.assign(path.data(), static_cast<std::size_t>(length));
    std::vector<std::string> words{program};
    words.insert(words.end(), start.arguments.begin(), start.arguments.end());
    std::vector<char*> argv;
    argv.reserve(words.size() + 1);
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    std::string parent = std::string(ends_with_process) + "=" + std::to_string(::getpid());
    std::vector<char*> environment;
    for (char** one = environ; *one != nullptr; ++one) environment.push_back(*one);
    environment.push_back(parent.data());
    environment.push_back(nullptr);
    pid_t pid = -1;
    const int failed =
        posix_spawn(&pid, program.c_str(), &plan.actions, &plan.attributes, argv.data(), environment.data());
    if (failed != 0) return std::string("no process could be started: ") + std::strerror(failed);
    return Child(pid, std::exchange(files.output, -1), std::exchange(files.errors, -1));
}

Child::Child(Child&& other) noexcept
    : pid_(std::exchange(other.pid_, -1)),
      output_(std::exchange(other.output_, -1)),
      errors_(std::exchange(other.errors_, -1)),
      status_(std::exchange(other.status_, {})) {}

Child& Child::operator=(Child&& other) noexcept {
    if (this == &other) return *this;
    let_go();
    pid_ = std::exchange(other.pid_, -1);
    output_ = std::exchange(other.output_, -1);
    errors_ = std::exchange(other.errors_, -1);
    status_ = std::exchange(other.status_, {});
    return *this;
}

Child::~Child() { let_go(); }

void Child::let_go() {
    if (pid_ > 0) {
        ::kill(-pid_, SIGKILL);
        int unused = 0;
        while (::waitpid(pid_, &unused, 0) < 0 && errno == EINTR) {
        }
        pid_ = -1;
    }
    for (int* const one : {&output_, &errors_})
        if (*one >= 0) ::close(std::exchange(*one, -1));
}

std::optional<int> Child::over() {
    if (pid_ <= 0) return status_;
    int how = 0;
    const pid_t ended = ::waitpid(pid_, &how, WNOHANG);
    if (ended == 0 || (ended < 0 && errno == EINTR)) return std::nullopt;
    pid_ = -1;
    status_ = ended < 0 ? signal_base : WIFEXITED(how) ? WEXITSTATUS(how) : signal_base + WTERMSIG(how);
    return status_;
}

void Child::stand_back() const {
    constexpr int behind_others = 10;
    if (pid_ > 0) ::setpriority(PRIO_PROCESS, static_cast<id_t>(pid_), behind_others);
}

void Child::stop() {
    if (pid_ > 0) ::kill(-pid_, SIGINT);
}

std::string Child::said_on(int descriptor) {
    std::string text;
    std::array<char, std::size_t{64} * 1024> piece{};
    // by place: the child goes on writing behind its own
    while (text.size() < output_bytes_max) {
        const ssize_t read = ::pread(descriptor, piece.data(), piece.size(), static_cast<off_t>(text.size()));
        if (read < 0 && errno == EINTR) continue;
        if (read <= 0) break;
        text.append(piece.data(), static_cast<std::size_t>(read));
    }
    return text;
}

std::string Child::last_line() const {
    std::string text = errors();
    while (!text.empty() && (text.back() == '\n' || text.back() == '\r')) text.pop_back();
    const std::size_t from = text.find_last_of("\r\n");
    return from == std::string::npos ? text : text.substr(from + 1);
}

}  // namespace tools
