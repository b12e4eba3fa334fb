// The only place that includes libpcap.
#include <algorithm>
#include <array>
#include <cstring>
#include <filesystem>
#include <map>
#include <memory>
#include <span>

#include <pcap/pcap.h>

#include "sim/scenario/capture.hpp"

namespace sim {
namespace {

using Bytes = std::span<const std::uint8_t>;

struct EndPoint {
    std::array<std::uint8_t, 16> address{};
    std::uint16_t port = 0;
    friend auto operator<=>(const EndPoint&, const EndPoint&) = default;
};

struct Packet {
    EndPoint from, to;
    bool carries = false;
};

std::uint16_t word_at(Bytes bytes, std::size_t at) {
    return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
}

std::optional<Packet> transport(std::uint8_t protocol, Bytes bytes, Packet packet) {
    constexpr std::uint8_t tcp = 6, udp = 17;
    if (protocol == udp && bytes.size() >= 8) {
        packet.carries = true;
    } else if (protocol == tcp && bytes.size() >= 20) {
        packet.carries = bytes.size() > static_cast<std::size_t>(bytes[12] >> 4) * 4;
    } else {
        return std::nullopt;
    }
    packet.from.port = word_at(bytes, 0);
    packet.to.port = word_at(bytes, 2);
    return packet;
}

/// `length`: of the packet on the wire, of which the capture may hold less.
std::optional<Packet> internet(Bytes bytes) {
    if (bytes.empty()) return std::nullopt;
    Packet packet;
    const unsigned version = bytes[0] >> 4;
    if (version == 4 && bytes.size() >= 20) {
        const std::size_t header = static_cast<std::size_t>(bytes[0] & 15U) * 4;
        const std::size_t total = std::min<std::size_t>(word_at(bytes, 2), bytes.size());
        const bool later_fragment = (word_at(bytes, 6) & 0x1FFFU) != 0;
        if (header < 20 || total < header || later_fragment) return std::nullopt;
        std::copy_n(bytes.begin() + 12, 4, packet.from.address.begin());
        std::copy_n(bytes.begin() + 16, 4, packet.to.address.begin());
        return transport(bytes[9], bytes.subspan(header, total - header), packet);
    }
    if (version == 6 && bytes.size() >= 40) {
        const std::size_t length = std::min<std::size_t>(word_at(bytes, 4), bytes.size() - 40);
        std::copy_n(bytes.begin() + 8, 16, packet.from.address.begin());
        std::copy_n(bytes.begin() + 24, 16, packet.to.address.begin());
        return transport(bytes[6], bytes.subspan(40, length), packet);
    }
    return std::nullopt;
}

std::optional<Packet> packet_of(int link_type, Bytes bytes) {
    std::size_t header = 0;
    switch (link_type) {
        case DLT_EN10MB: {
            constexpr std::uint16_t tagged = 0x8100, tagged_twice = 0x88A8;
            header = 14;
            while (bytes.size() >= header &&
                   (word_at(bytes, header - 2) == tagged || word_at(bytes, header - 2) == tagged_twice))
                header += 4;
            break;
        }
        case DLT_LINUX_SLL: header = 16; break;
        case DLT_LINUX_SLL2: header = 20; break;
        case DLT_NULL:
        case DLT_LOOP: header = 4; break;
        case DLT_RAW: break;
        default: return std::nullopt;
    }
    return bytes.size() > header ? internet(bytes.subspan(header)) : std::nullopt;
}

struct Flow {
    EndPoint first_sender;
    struct Seen {
        std::int64_t at;
        bool asks;
    };
    std::vector<Seen> seen;
};

std::vector<proto::Duration> round_trips(const Flow& flow) {
    std::vector<proto::Duration> found;
    std::optional<std::int64_t> asked;
    for (const Flow::Seen& packet : flow.seen) {
        if (packet.asks) {
            if (!asked) asked = packet.at;
        } else if (asked) {
            found.push_back({(packet.at - *asked) / 2});
            asked.reset();
        }
    }
    return found;
}

std::vector<proto::Duration> gaps(const Flow& flow) {
    std::vector<std::int64_t> all;
    std::optional<std::int64_t> before;
    for (const Flow::Seen& packet : flow.seen) {
        if (!packet.asks) continue;
        if (before) all.push_back(packet.at - *before);
        before = packet.at;
    }
    if (all.empty()) return {};
    std::vector<std::int64_t> sorted = all;
    std::sort(sorted.begin(), sorted.end());
    const std::int64_t usual = sorted[sorted.size() / 2];
    std::vector<proto::Duration> found;
    for (const std::int64_t gap : all) found.push_back({std::max<std::int64_t>(gap - usual, 0)});
    return found;
}

}  // namespace

proto::Result<std::vector<proto::Duration>, FileError> delays_in_capture(const CaptureWish& wish) {
    const auto wrong = [&](std::string message) {
        return FileError{.file = wish.path, .line = 0, .key = "", .message = std::move(message)};
    };
    std::error_code error;
    if (!std::filesystem::is_regular_file(wish.path, error))
        return wrong("is no file; write the path of a pcap or pcapng capture, from the scenario's folder");
    constexpr std::uintmax_t bytes_max = 500'000'000;
    if (std::filesystem::file_size(wish.path, error) > bytes_max || error)
        return wrong("has over " + std::to_string(bytes_max) + " bytes; write a shorter capture");
    std::array<char, PCAP_ERRBUF_SIZE> text{};
    const std::unique_ptr<pcap_t, void (*)(pcap_t*)> capture(
        pcap_open_offline_with_tstamp_precision(wish.path.c_str(), PCAP_TSTAMP_PRECISION_NANO, text.data()),
        pcap_close);
    if (!capture)
        return wrong("is no capture that can be read (" + std::string(text.data()) + "); write a pcap or pcapng file");

    std::map<std::pair<EndPoint, EndPoint>, Flow> flows;
    std::uint64_t number = 0;
    std::int64_t last = 0;
    for (;;) {
        pcap_pkthdr* header = nullptr;
        const std::uint8_t* data = nullptr;
        const int got = pcap_next_ex(capture.get(), &header, &data);
        if (got == PCAP_ERROR_BREAK) break;
        if (got != 1)
            return wrong("is cut short or damaged after packet " + std::to_string(number) + " (" +
                         std::string(pcap_geterr(capture.get())) + "); capture again, or save the whole packets anew");
        ++number;
        constexpr std::int64_t second = 1'000'000'000, seconds_most = 9'000'000'000;
        if (header->ts.tv_sec < 0 || header->ts.tv_sec > seconds_most || header->ts.tv_usec < 0 ||
            header->ts.tv_usec >= second)
            return wrong("packet " + std::to_string(number) + " has no time that can be; capture again");
        const std::int64_t at = header->ts.tv_sec * second + header->ts.tv_usec;  // nanoseconds, as asked for
        if (number > 1 && at < last)
            return wrong("packet " + std::to_string(number) +
                         " is older than the one before it; sort the capture by time");
        last = at;
        const auto packet = packet_of(pcap_datalink(capture.get()), Bytes(data, header->caplen));
        if (!packet || !packet->carries) continue;
        if (wish.port && packet->from.port != *wish.port && packet->to.port != *wish.port) continue;
        Flow& flow = flows[std::minmax(packet->from, packet->to)];
        if (flow.seen.empty()) flow.first_sender = packet->from;
        flow.seen.push_back({at, packet->from == flow.first_sender});
    }
    const auto busiest = std::max_element(flows.begin(), flows.end(), [](const auto& a, const auto& b) {
        return a.second.seen.size() < b.second.seen.size();
    });
    if (busiest == flows.end())
        return wrong(wish.port
                         ? "holds no UDP or TCP packets of port " + std::to_string(*wish.port) + "; write another port"
                         : std::string("holds no UDP or TCP packets; capture the flow of the link"));
    std::vector<proto::Duration> found =
        wish.use == CaptureWish::Use::round_trips ? round_trips(busiest->second) : gaps(busiest->second);
    if (found.size() < 2)
        return wrong("holds " + std::to_string(found.size()) +
                     (wish.use == CaptureWish::Use::round_trips ? " round trips" : " gaps") +
                     " of its busiest flow, too few for a distribution; capture longer" +
                     (wish.use == CaptureWish::Use::round_trips ? ", or write use = \"gaps\"" : ""));
    constexpr proto::Duration longest = proto::seconds(3600);
    for (const proto::Duration delay : found)
        if (delay > longest) return wrong("holds a delay of over an hour; capture again");
    return found;
}

}  // namespace sim
