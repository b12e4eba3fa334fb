#include "tools/program/secret.hpp"

#include <sys/random.h>

#include <cerrno>
#include <cstdlib>
#include <iostream>

#include "tools/program/failure.hpp"

namespace tools {
namespace {

void fill(void* into, std::size_t bytes) {
    auto* at = static_cast<unsigned char*>(into);
    while (bytes > 0) {
        const ssize_t got = getrandom(at, bytes, 0);
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) {
            std::cerr << "linkdrill: the kernel gives no random numbers (getrandom); a secret cannot be made\n";
            std::exit(static_cast<int>(Status::machine));  // NOLINT(concurrency-mt-unsafe): before any thread
        }
        at += got;
        bytes -= static_cast<std::size_t>(got);
    }
}

}  // namespace

std::uint64_t secret_number() {
    std::uint64_t number = 0;
    fill(&number, sizeof number);
    return number;
}

std::string secret_text(std::string_view alphabet, std::size_t length) {
    std::string text;
    // bytes beyond the last whole round of the alphabet would make its first signs likelier
    const std::size_t fair = 256 - 256 % alphabet.size();
    while (text.size() < length) {
        unsigned char byte = 0;
        fill(&byte, 1);
        if (byte < fair) text += alphabet[byte % alphabet.size()];
    }
    return text;
}

}  // namespace tools
