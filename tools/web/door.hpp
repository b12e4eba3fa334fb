#pragma once
// What is looked at before anything of a request is taken: for whom it is, from whose page, and how it is sent.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace tools {

/// The head of a request.
struct WebHead {
    std::string method;
    std::string target;                                        ///< path and query, as sent
    std::vector<std::pair<std::string, std::string>> headers;  ///< names in small letters

    /// The values of all headers of that name.
    [[nodiscard]] std::vector<std::string_view> all(std::string_view name) const;
    /// The first of them, or "".
    [[nodiscard]] std::string_view first(std::string_view name) const;
};

inline constexpr std::size_t head_bytes_max = std::size_t{8} * 1024;
inline constexpr std::size_t body_bytes_max = std::size_t{16} * 1024;

/// The address that is listened on: "127.0.0.1", "0.0.0.0" or another IPv4 address of this machine.
struct Door {
    std::string bound;
    std::uint16_t port = 0;
    std::size_t body_most = body_bytes_max;
};

struct TurnedAway {
    int status;
    std::string_view why;
};

/// Why the request is not taken, by its head alone: another host or origin, a method that is not known here, a length
/// that is told twice, too large or in pieces (RFC 9112, 6.1 and 6.3: what a proxy and a server could read
/// differently).
std::optional<TurnedAway> turned_away(const Door& door, const WebHead& head);

bool is_loopback(std::string_view address);
/// A host as a header has it, without its port.
std::string host_of(std::string_view header);
/// The value of that cookie, or "".
std::string cookie_of(std::string_view header, std::string_view name);
/// Fields of a query or a form: percent signs and pluses as HTML forms write them. The last of a name counts.
void read_fields(std::string_view text, std::vector<std::pair<std::string, std::string>>& fields);

}  // namespace tools
