#include "sim/reading/captured_flow.hpp"

#include <algorithm>
#include <filesystem>
#include <map>
#include <utility>

#include "sim/judge/event_log.hpp"

namespace sim {
namespace {

FileError wrong(const std::string& path, std::string message) {
    return {.file = path, .line = 0, .key = "", .message = std::move(message)};
}

proto::Result<PacketReader, FileError> opened(const CaptureSource& source) {
    const std::string& path = source.path;
    std::error_code error;
    if (!source.held && !std::filesystem::is_regular_file(path, error))
        return wrong(path, "is no file; write the path of a pcap or pcapng capture, from the scenario's folder");
    constexpr std::uintmax_t bytes_max = 500'000'000;
    if (source.held ? source.held->size() > bytes_max : std::filesystem::file_size(path, error) > bytes_max || error)
        return wrong(path, "has over " + std::to_string(bytes_max) + " bytes; write a shorter capture");
    return PacketReader::open(source);
}

/// As many as are kept apart: a capture in which every packet is a flow of its own would take several times its size.
constexpr std::size_t flows_most = 4096;

using Ends = std::pair<SocketAddress, SocketAddress>;
using Flows = std::map<Ends, CapturedFlow>;

Ends ends_of(const SocketAddress& a, const SocketAddress& b) { return std::minmax(a, b); }

proto::Result<Flows, FileError> flows_in(PacketReader& capture, const std::string& path,
                                         std::optional<std::uint16_t> port) {
    Flows flows;
    std::int64_t last = 0;
    while (const std::optional<Packet> packet = capture.next()) {
        if (packet->number > 1 && packet->at_ns < last)
            return wrong(path, "packet " + std::to_string(packet->number) +
                                   " is older than the one before it; sort the capture by time");
        last = packet->at_ns;
        const auto datagram = datagram_in(packet->link_type, packet->bytes);
        // of TCP only what carries something; a UDP datagram may be empty
        if (!datagram || (datagram->kind == Datagram::Kind::tcp && datagram->payload.empty())) continue;
        if (port && datagram->from.port != *port && datagram->to.port != *port) continue;
        const auto [found, is_new] = flows.try_emplace(ends_of(datagram->from, datagram->to));
        if (flows.size() > flows_most)
            return wrong(path, "holds over " + std::to_string(flows_most) + " flows" +
                                   (port ? " of port " + std::to_string(*port) + "; capture the link alone"
                                         : "; write the port of the link, port = ..., or capture the link alone"));
        CapturedFlow& flow = found->second;
        if (is_new) {
            flow.asks = datagram->from;
            flow.answers = datagram->to;
        }
        flow.seen.push_back({packet->at_ns, identity_of_bytes(datagram->payload), datagram->from == flow.asks});
    }
    if (capture.damage()) return *capture.damage();
    return flows;
}

}  // namespace

proto::Result<CapturedFlow, FileError> flow_in_capture(const CaptureSource& source, std::optional<std::uint16_t> port,
                                                       const CapturedFlow* like) {
    const std::string& path = source.path;
    auto capture = opened(source);
    if (!capture) return capture.error();
    auto flows = flows_in(capture.value(), path, port);
    if (!flows) return flows.error();
    if (like != nullptr) {
        const auto same = flows.value().find(ends_of(like->asks, like->answers));
        if (same != flows.value().end()) {
            CapturedFlow flow = std::move(same->second);
            if (flow.asks != like->asks) {
                std::swap(flow.asks, flow.answers);
                for (CapturedFlow::Seen& packet : flow.seen) packet.asks = !packet.asks;
            }
            return flow;
        }
    }
    const auto busiest = std::max_element(flows.value().begin(), flows.value().end(), [](const auto& a, const auto& b) {
        return a.second.seen.size() < b.second.seen.size();
    });
    if (busiest == flows.value().end())
        return wrong(path, port
                               ? "holds no UDP or TCP packets of port " + std::to_string(*port) + "; write another port"
                               : "holds no UDP or TCP packets; capture the flow of the link");
    return std::move(busiest->second);
}

}  // namespace sim
