#include "proto/crc_difference.hpp"

#include <array>

#include "proto/profile.hpp"

namespace proto {

CrcDifference::CrcDifference(const CrcEngine& crc, unsigned message_bytes) : message_bytes_(message_bytes) {
    require(message_bytes >= bytes && message_bytes <= telegram_bytes_max, "CrcDifference: messages too short or long");
    if (crc.spec().width <= 32)
        narrow_ = filled<std::uint32_t>(crc, message_bytes);
    else
        wide_ = filled<std::uint64_t>(crc, message_bytes);
}

template <class Word>
std::unique_ptr<const CrcDifference::Tables<Word>> CrcDifference::filled(const CrcEngine& crc, unsigned message_bytes) {
    auto tables = std::make_unique<Tables<Word>>();
    std::array<std::uint8_t, telegram_bytes_max> message{};
    const std::span<const std::uint8_t> whole(message.data(), message_bytes);
    const std::uint64_t of_zeros = crc.over(whole);
    for (unsigned k = 0; k < bytes; ++k) {
        std::uint8_t& changing = message[bytes - 1 - k];
        Word* const table = tables->entry + std::size_t{256} * k;
        table[0] = 0;
        for (unsigned bit = 1; bit < 256; bit *= 2) {
            changing = static_cast<std::uint8_t>(bit);
            table[bit] = static_cast<Word>(crc.over(whole) ^ of_zeros);
            for (unsigned below = 1; below < bit; ++below) table[bit + below] = table[bit] ^ table[below];
        }
        changing = 0;
    }
    return tables;
}

CrcDifference::OfTwo CrcDifference::of_two(unsigned following) const {
    require(following <= bytes - 2, "CrcDifference: no two bytes there");
    OfTwo two;
    if (narrow_ != nullptr)
        two.narrow_ = narrow_->entry + std::size_t{256} * following;
    else
        two.wide_ = wide_->entry + std::size_t{256} * following;
    two.shift_ = 8 * following;
    return two;
}

}  // namespace proto
