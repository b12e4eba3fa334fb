#include "proto/contract.hpp"

#include <cstdio>
#include <cstdlib>

namespace proto {
namespace {
thread_local const char* context_of_this_thread = nullptr;
}

void set_contract_context(const char* context) { context_of_this_thread = context; }

void contract_broken(const char* what, const char* file, int line) {
    std::fprintf(stderr, "linkdrill: internal error at %s:%d: %s", file, line, what);
    if (context_of_this_thread != nullptr) std::fprintf(stderr, " (%s)", context_of_this_thread);
    std::fputs("; please report it with this line\n", stderr);
    std::abort();
}

}  // namespace proto
