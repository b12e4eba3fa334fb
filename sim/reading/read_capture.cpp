#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>

#include "sim/capture/datagram.hpp"
#include "sim/reading/capture.hpp"
#include "sim/reading/packets.hpp"

namespace sim {
namespace {

struct Flow {
    SocketAddress first_sender;
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
            found.push_back({packet.at - *asked});
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
    found.reserve(all.size());
    for (const std::int64_t gap : all) found.push_back({std::max<std::int64_t>(gap - usual, 0)});
    return found;
}

FileError wrong(const CaptureWish& wish, std::string message) {
    return {.file = wish.path, .line = 0, .key = "", .message = std::move(message)};
}

proto::Result<PacketReader, FileError> opened(const CaptureWish& wish) {
    std::error_code error;
    if (!std::filesystem::is_regular_file(wish.path, error))
        return wrong(wish, "is no file; write the path of a pcap or pcapng capture, from the scenario's folder");
    constexpr std::uintmax_t bytes_max = 500'000'000;
    if (std::filesystem::file_size(wish.path, error) > bytes_max || error)
        return wrong(wish, "has over " + std::to_string(bytes_max) + " bytes; write a shorter capture");
    return PacketReader::open(wish.path);
}

using Flows = std::map<std::pair<SocketAddress, SocketAddress>, Flow>;

proto::Result<Flows, FileError> flows_in(PacketReader& capture, const CaptureWish& wish) {
    Flows flows;
    std::int64_t last = 0;
    while (const std::optional<Packet> packet = capture.next()) {
        if (packet->number > 1 && packet->at_ns < last)
            return wrong(wish, "packet " + std::to_string(packet->number) +
                                   " is older than the one before it; sort the capture by time");
        last = packet->at_ns;
        const auto datagram = datagram_in(packet->link_type, packet->bytes);
        // of TCP only what carries something; a UDP datagram may be empty
        if (!datagram || (datagram->kind == Datagram::Kind::tcp && datagram->payload.empty())) continue;
        if (wish.port && datagram->from.port != *wish.port && datagram->to.port != *wish.port) continue;
        Flow& flow = flows[std::minmax(datagram->from, datagram->to)];
        if (flow.seen.empty()) flow.first_sender = datagram->from;
        flow.seen.push_back({packet->at_ns, datagram->from == flow.first_sender});
    }
    if (capture.damage()) return *capture.damage();
    return flows;
}

}  // namespace

proto::Result<std::vector<proto::Duration>, FileError> delays_in_capture(const CaptureWish& wish) {
    auto capture = opened(wish);
    if (!capture) return capture.error();
    const auto flows = flows_in(capture.value(), wish);
    if (!flows) return flows.error();
    const auto busiest = std::max_element(flows.value().begin(), flows.value().end(), [](const auto& a, const auto& b) {
        return a.second.seen.size() < b.second.seen.size();
    });
    if (busiest == flows.value().end())
        return wrong(wish, wish.port ? "holds no UDP or TCP packets of port " + std::to_string(*wish.port) +
                                           "; write another port"
                                     : "holds no UDP or TCP packets; capture the flow of the link");
    const bool round = wish.use == CaptureWish::Use::round_trips;
    std::vector<proto::Duration> found = round ? round_trips(busiest->second) : gaps(busiest->second);
    if (found.size() < 2)
        return wrong(wish, "holds " + std::to_string(found.size()) + (round ? " round trips" : " gaps") +
                               " of its busiest flow, too few for a distribution; capture longer" +
                               (round ? ", or write use = \"gaps\"" : ""));
    constexpr proto::Duration longest = proto::seconds(3600);
    for (const proto::Duration delay : found)
        if (delay > longest) return wrong(wish, "holds a delay of over an hour; capture again");
    return found;
}

}  // namespace sim
