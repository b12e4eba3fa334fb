#include "tools/store/running_check.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

#include "proto/contract.hpp"
#include "proto/crc_catalogue.hpp"

namespace tools {

const proto::CrcEngine& check_of_files() {
    static const proto::CrcEngine made = [] {
        const proto::NamedCrc* const named = proto::find_crc("CRC-64/XZ");
        proto::require(named != nullptr, "the catalogue lacks the check of stores");
        return proto::CrcEngine::make(named->spec).value();
    }();
    return made;
}

namespace {

void put(std::uint8_t* to, std::uint64_t number) {
    for (unsigned byte = 0; byte < 8; ++byte) to[byte] = static_cast<std::uint8_t>(number >> (8 * byte));
}

}  // namespace

RunningCheck::RunningCheck() : so_far_(check_of_files().start()) {}

void RunningCheck::add(std::uint64_t number) {
    std::array<std::uint8_t, 8> bytes{};
    put(bytes.data(), number);
    so_far_ = check_of_files().feed(so_far_, bytes);
}

void RunningCheck::add(std::string_view text) {
    add(std::uint64_t{text.size()});
    so_far_ = check_of_files().feed(so_far_, {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

void RunningCheck::add(std::span<const std::uint8_t> bytes) { so_far_ = check_of_files().feed(so_far_, bytes); }

void RunningCheck::add(std::span<const std::optional<std::int64_t>> columns) {
    constexpr std::size_t most = 64;
    while (!columns.empty()) {
        std::array<std::uint8_t, 8 * (most + 1)> bytes;  // NOLINT(cppcoreguidelines-pro-type-member-init): filled below
        const std::size_t count = std::min(columns.size(), most);
        std::uint64_t there = 0;
        for (std::size_t i = 0; i < count; ++i) {
            put(&bytes[8 * i], static_cast<std::uint64_t>(columns[i].value_or(0)));
            there |= std::uint64_t{columns[i].has_value()} << i;
        }
        put(&bytes[8 * count], there);
        so_far_ = check_of_files().feed(so_far_, std::span(bytes).first(8 * (count + 1)));
        columns = columns.subspan(count);
    }
}

std::uint64_t RunningCheck::value() const { return check_of_files().finish(so_far_); }

}  // namespace tools
