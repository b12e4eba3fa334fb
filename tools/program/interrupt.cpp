#include "tools/program/interrupt.hpp"

#include <csignal>
#include <string_view>

#include <signal.h>  // NOLINT(modernize-deprecated-headers): sigaction and signal sets are POSIX's, not <csignal>'s
#include <unistd.h>

#include "tools/program/failure.hpp"

namespace tools {
namespace {

// In a signal handler: only write() and _exit().
void stop_now(int) {
    constexpr std::string_view message = "\nSTOPPED  What was finished is kept.\n";
    [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, message.data(), message.size());
    ::_exit(static_cast<int>(Status::interrupted));
}

void mask_interrupt(int how) {
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigprocmask(how, &set, nullptr);
}

volatile std::sig_atomic_t interrupt_came = 0;
struct sigaction action_before {};

void note_it(int) { interrupt_came = 1; }

}  // namespace

void end_on_interrupt() {
    // A file over the size limit is an error of write(), not the end of the program.
    std::signal(SIGXFSZ, SIG_IGN);
    struct sigaction action {};
    struct sigaction before {};
    // Started in the background by a shell, Ctrl-C is ignored and stays so.
    if (sigaction(SIGINT, nullptr, &before) == 0 && before.sa_handler == SIG_IGN) return;
    action.sa_handler = stop_now;
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, nullptr);
}

NoteInterrupt::NoteInterrupt() {
    interrupt_came = 0;
    struct sigaction action {};
    if (sigaction(SIGINT, nullptr, &action_before) == 0 && action_before.sa_handler == SIG_IGN) return;
    action.sa_handler = note_it;
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, nullptr);
    listens_ = true;
}

NoteInterrupt::~NoteInterrupt() { sigaction(SIGINT, &action_before, nullptr); }

bool NoteInterrupt::came() const { return listens_ && interrupt_came != 0; }

HoldInterrupt::HoldInterrupt() { mask_interrupt(SIG_BLOCK); }
HoldInterrupt::~HoldInterrupt() { mask_interrupt(SIG_UNBLOCK); }

}  // namespace tools
