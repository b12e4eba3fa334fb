#include "sim/drive/block_digest.hpp"

#include <initializer_list>

#include "proto/contract.hpp"
#include "sim/numeric/random.hpp"

namespace sim {

std::uint64_t BlockDigest::chained(std::uint64_t chain, const DigestBlock& block) {
    for (const std::uint64_t number : {block.number, block.trials, block.sum}) chain = scramble(chain ^ number) + 1;
    return chain;
}

void BlockDigest::add(const DigestBlock& piece) {
    if (piece.trials == 0) return;
    proto::require(current_.trials == 0 || piece.number >= current_.number, "blocks of a campaign out of order");
    if (piece.number != current_.number) {
        chain_ = current_.trials == 0 ? chain_ : chained(chain_, current_);
        current_ = {.number = piece.number};
    }
    current_.trials += piece.trials;
    current_.sum += piece.sum;
}

std::uint64_t BlockDigest::value() const { return current_.trials == 0 ? chain_ : chained(chain_, current_); }

}  // namespace sim
