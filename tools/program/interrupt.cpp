#include "tools/program/interrupt.hpp"

#include <array>
#include <atomic>
#include <csignal>
#include <cstddef>
#include <cstdlib>
#include <exception>
#include <new>
#include <string>
#include <string_view>

#include <signal.h>  // NOLINT(modernize-deprecated-headers): sigaction and signal sets are POSIX's, not <csignal>'s
#include <sys/prctl.h>
#include <unistd.h>

#include "tools/program/failure.hpp"

namespace tools {
namespace {

/// Ctrl-C, and what a shutdown, a service manager or a container sends.
constexpr std::array ending{SIGINT, SIGTERM};

std::array<std::atomic<const char*>, 8> unfinished{};
static_assert(std::atomic<const char*>::is_always_lock_free, "a signal handler looks at them");

// In a signal handler: only unlink(), write() and _exit().
[[noreturn]] void end_now(std::string_view message, Status status) {
    for (const std::atomic<const char*>& one : unfinished)
        if (const char* const path = one.load()) ::unlink(path);
    [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, message.data(), message.size());
    ::_exit(static_cast<int>(status));
}

void stop_now(int) { end_now("\nSTOPPED  What was finished is kept.\n", Status::interrupted); }

std::terminate_handler terminate_before = nullptr;

/// Nobody caught it: it came in a thread.
[[noreturn]] void out_of_memory() {
    try {
        if (const auto problem = std::current_exception()) std::rethrow_exception(problem);
    } catch (const std::bad_alloc&) {
        end_now("linkdrill: no more memory is to be had; give it more, or fewer threads. What was finished is kept.\n",
                Status::machine);
    } catch (...) {  // NOLINT(bugprone-empty-catch): a fault of the program, told as ever
    }
    if (terminate_before != nullptr) terminate_before();
    std::abort();
}

void mask_interrupt(int how) {
    sigset_t set;
    sigemptyset(&set);
    for (const int signal : ending) sigaddset(&set, signal);
    sigprocmask(how, &set, nullptr);
}

volatile std::sig_atomic_t interrupt_came = 0;
std::array<struct sigaction, ending.size()> actions_before{};

/// Started in the background by a shell, Ctrl-C is ignored and stays so.
bool is_ignored(int signal) {
    struct sigaction now {};
    return sigaction(signal, nullptr, &now) == 0 && now.sa_handler == SIG_IGN;
}

bool handle(int signal, void (*handler)(int), struct sigaction* before = nullptr) {
    if (is_ignored(signal)) {
        if (before != nullptr) sigaction(signal, nullptr, before);
        return false;
    }
    struct sigaction action {};
    action.sa_handler = handler;
    sigemptyset(&action.sa_mask);
    return sigaction(signal, &action, before) == 0;
}

void note_it(int) { interrupt_came = 1; }

}  // namespace

void end_with_starter() {
    const char* const starter = std::getenv(ends_with_process);
    if (starter == nullptr) return;
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    // it may have ended before that was asked for
    if (std::to_string(::getppid()) != starter) std::_Exit(static_cast<int>(Status::interrupted));
}

void end_on_interrupt() {
    // A file over the size limit is an error of write(), not the end of the program.
    std::signal(SIGXFSZ, SIG_IGN);
    for (const int signal : ending) handle(signal, stop_now);
}

void end_on_no_memory() { terminate_before = std::set_terminate(out_of_memory); }

NoteInterrupt::NoteInterrupt() {
    interrupt_came = 0;
    for (std::size_t i = 0; i < ending.size(); ++i)
        listens_ = handle(ending[i], note_it, &actions_before[i]) || listens_;
}

NoteInterrupt::~NoteInterrupt() {
    for (std::size_t i = 0; i < ending.size(); ++i) sigaction(ending[i], &actions_before[i], nullptr);
}

bool NoteInterrupt::came() const { return listens_ && interrupt_came != 0; }

RemoveOnInterrupt::RemoveOnInterrupt(const char* path) {
    for (std::atomic<const char*>& one : unfinished) {
        const char* nobody = nullptr;
        if (!one.compare_exchange_strong(nobody, path)) continue;
        place_ = &one;
        return;
    }
}
RemoveOnInterrupt::~RemoveOnInterrupt() {
    if (place_ != nullptr) place_->store(nullptr);
}

HoldInterrupt::HoldInterrupt() { mask_interrupt(SIG_BLOCK); }
HoldInterrupt::~HoldInterrupt() { mask_interrupt(SIG_UNBLOCK); }

}  // namespace tools
