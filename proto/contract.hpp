#pragma once
// Checks of what callers owe. They stay on in release builds: a broken contract in a tool that judges safety
// must stop the tool, not colour its verdict.

namespace proto {

/// Prints file, line, `what` and the context set by set_contract_context() to standard error, then aborts.
[[noreturn]] void contract_broken(const char* what, const char* file, int line);

/// Names what is being worked on (scenario and seed) for the message of a broken contract.
/// `context` must outlive its use, one per thread; nullptr clears it.
void set_contract_context(const char* context);

inline void require(bool holds, const char* what, const char* file = __builtin_FILE(), int line = __builtin_LINE()) {
    if (__builtin_expect(holds, 1)) return;
    contract_broken(what, file, line);
}

}  // namespace proto
