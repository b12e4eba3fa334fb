#include <asio.hpp>

#include "sim/live/live.hpp"

namespace sim {

bool Address::loopback() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    return !failed && address.is_loopback();
}

bool Address::of_one_computer() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    const bool all_there = address.is_v4() && address.to_v4() == asio::ip::address_v4::broadcast();
    return !failed && !address.is_multicast() && !address.is_unspecified() && !all_there;
}

bool Address::every() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    return !failed && address.is_unspecified();
}

std::string Address::written() const {
    const bool six = host.find(':') != std::string::npos;
    return (six ? "[" + host + "]" : host) + ":" + std::to_string(port);
}

std::optional<Address> address_from(const std::string& text) {
    const std::size_t colon = text.rfind(':');
    if (colon == std::string::npos || colon + 1 == text.size()) return std::nullopt;
    std::string host = text.substr(0, colon);
    if (host.size() > 2 && host.front() == '[' && host.back() == ']') host = host.substr(1, host.size() - 2);
    std::uint32_t port = 0;
    for (const char digit : text.substr(colon + 1)) {
        if (digit < '0' || digit > '9') return std::nullopt;
        port = port * 10 + static_cast<std::uint32_t>(digit - '0');
        if (port > 65535) return std::nullopt;
    }
    std::error_code failed;
    asio::ip::make_address(host, failed);
    if (failed) return std::nullopt;
    return Address{host, static_cast<std::uint16_t>(port)};
}

}  // namespace sim
