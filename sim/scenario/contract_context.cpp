#include "sim/scenario/contract_context.hpp"

#include <cstdio>

#include "proto/contract.hpp"

namespace sim {
namespace {
thread_local const ContractContext* innermost = nullptr;
}

ContractContext::ContractContext(const std::string& file, std::uint64_t seed) : outer_(innermost) {
    std::snprintf(words_.data(), words_.size(), "scenario %.100s, seed %llu", file.c_str(),
                  static_cast<unsigned long long>(seed));
    innermost = this;
    proto::set_contract_context(words_.data());
}

ContractContext::~ContractContext() {
    innermost = outer_;
    proto::set_contract_context(outer_ != nullptr ? outer_->words_.data() : nullptr);
}

}  // namespace sim
