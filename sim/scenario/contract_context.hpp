#pragma once
// What is being worked on, for the message of a broken contract: whoever reports it can then repeat it.
#include <array>
#include <cstdint>
#include <string>

namespace sim {

/// While it lives, a broken contract in this thread names the scenario's file (its first 100 bytes) and the seed;
/// afterwards what was named before. A thread of its own needs one of its own. Lives in a scope, the last made first
/// to go.
class ContractContext {
  public:
    ContractContext(const std::string& file, std::uint64_t seed);
    ~ContractContext();
    ContractContext(const ContractContext&) = delete;
    ContractContext& operator=(const ContractContext&) = delete;

  private:
    const ContractContext* outer_;
    std::array<char, 160> words_{};
};

}  // namespace sim
