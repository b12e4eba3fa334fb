#pragma once
// Randomness that nobody can guess: from the kernel (getrandom), whatever the standard library takes for a device.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace tools {

/// Ends the program with one line where the kernel gives none: a secret that can be guessed is worse.
std::uint64_t secret_number();
/// So many signs of the alphabet, each as likely; requires 1 to 256 of them.
std::string secret_text(std::string_view alphabet, std::size_t length);

}  // namespace tools
