#include "tools/capture/capture_recorder.hpp"

#include <algorithm>

#include "tools/capture/capture_words.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using sim::End;
using sim::Hop;
using Number = sim::CaptureWriter::Number;
using Comment = sim::CaptureWriter::Comment;

constexpr std::size_t altered_most = 256;  ///< as many as are on the way at once
constexpr std::uint16_t controller_port = 49'701, device_port = 49'702, stranger_port = 49'700;

}  // namespace

CaptureSockets documentation_sockets(std::size_t link) {
    const auto nth = static_cast<std::uint8_t>(link);
    CaptureSockets sockets;
    sockets.controller = sim::ipv4({192, 0, 2, 1}, controller_port);
    sockets.device = sim::ipv4({192, 0, 2, static_cast<std::uint8_t>(2 + nth)}, device_port);
    sockets.neighbour_controller = sim::ipv4({198, 51, 100, static_cast<std::uint8_t>(1 + 2 * nth)}, controller_port);
    sockets.neighbour_device = sim::ipv4({198, 51, 100, static_cast<std::uint8_t>(2 + 2 * nth)}, device_port);
    sockets.stranger = sim::ipv4({203, 0, 113, 1}, stranger_port);
    return sockets;
}

CaptureRecorder::CaptureRecorder(const sim::Scenario& scenario, const CaptureSockets& sockets, CaptureFile& file,
                                 std::size_t link)
    : scenario_(scenario), names_(full_names(scenario)), file_(file) {
    const auto first = static_cast<std::uint32_t>(link * sim::hop_count);
    const std::array from{sockets.controller, sockets.device, sockets.neighbour_controller, sockets.neighbour_device,
                          sockets.stranger};
    for (unsigned i = 0; i < sim::hop_count; ++i) {
        const auto hop = static_cast<Hop>(i);
        const bool to_device = sim::direction_of(hop) == sim::Direction::to_device;
        const sim::SocketAddress& end = to_device ? sockets.device : sockets.controller;
        const sim::SocketAddress& to = sockets.channel && !sim::arrives(hop) ? *sockets.channel : end;
        for (const sim::SocketAddress& origin : from)
            makers_.emplace_back(first + i, sockets.channel && sim::arrives(hop) ? *sockets.channel : origin, to);
    }
}

CaptureRecorder::Origin CaptureRecorder::origin_of(const sim::Tag& tag) {
    if (tag.forged) return Origin::stranger;
    const bool controller = tag.direction == sim::Direction::to_device;
    if (tag.link != 0) return controller ? Origin::neighbour_controller : Origin::neighbour_device;
    return controller ? Origin::controller : Origin::device;
}

Number CaptureRecorder::add(Hop hop, Origin origin, std::span<const std::uint8_t> bytes, sim::Instant now,
                            Comment comment) {
    const auto& maker = makers_[static_cast<std::size_t>(hop) * origins + static_cast<std::size_t>(origin)];
    return file_.add(maker, bytes, now, comment);
}

void CaptureRecorder::sent(const sim::Sent& sent) {
    const Origin origin = sent.way == sim::Direction::to_device ? Origin::controller : Origin::device;
    sent_last_ = add(sim::sent_hop(sent.way), origin, sent.bytes, sent.at, Comment::none);
    sent_bytes_.assign(sent.bytes.begin(), sent.bytes.end());
}

void CaptureRecorder::befell(const sim::Befell& befell) {
    const sim::Tag& tag = befell.tag;
    if (sent_last_ != 0) file_.remark(sent_last_, befallen(scenario_, tag, befell.fate));
    if (!tag.altered) return;
    if (altered_.size() == altered_most) altered_.pop_front();
    altered_.push_back({tag, sent_bytes_});
}

std::string CaptureRecorder::change_of(const sim::Tag& tag, std::span<const std::uint8_t> bytes) const {
    if (!tag.altered || tag.link != 0) return "";
    for (auto sent = altered_.rbegin(); sent != altered_.rend(); ++sent)
        if (sent->tag.instance == tag.instance && sent->tag.direction == tag.direction &&
            sent->tag.parameter == tag.parameter)
            return changed(sent->bytes, bytes);
    return "";
}

void CaptureRecorder::delivered(const sim::Delivered& delivered) {
    const auto& [to, tag, bytes, power_on, now] = delivered;
    waiting(to).push_back(
        {add(sim::arriving_hop(to), origin_of(tag), bytes, now, Comment::to_come), tag, change_of(tag, bytes)});
}

void CaptureRecorder::settle(End at, const Waiting& waiting, const Conclusion& conclusion) {
    if (waiting.packet == 0) return;
    using Kind = Conclusion::Kind;
    const std::string deed = done_to(scenario_, waiting.tag, at);
    const bool ordinary =
        conclusion.kind == Kind::accepted || conclusion.kind == Kind::repeat || conclusion.kind == Kind::handshake;
    if (!deed.empty()) file_.remark(waiting.packet, deed);
    if (!waiting.changed.empty()) file_.remark(waiting.packet, waiting.changed);
    if (!deed.empty() || !ordinary) file_.remark(waiting.packet, sentence_of(names_.of(at), conclusion));
    file_.close(waiting.packet);
}

void CaptureRecorder::unheard(const sim::Unheard& unheard) {
    const auto [at, why] = unheard;
    std::deque<Waiting>& all = waiting(at);
    const Conclusion conclusion{Conclusion::Kind::unheard, {}, why};
    while (!all.empty()) {
        settle(at, all.back(), conclusion);
        all.pop_back();
        if (why != sim::WhyUnheard::forgotten) return;
    }
}

void CaptureRecorder::concluded(const sim::Concluded& concluded) {
    const End at = concluded.end;
    const proto::Verdict& verdict = concluded.verdict;
    std::deque<Waiting>& all = waiting(at);
    if (all.empty()) return;  // it came before anybody listened
    const Waiting first = all.front();
    all.pop_front();
    Conclusion conclusion = conclusion_of(verdict);
    if (verdict.kind == proto::Verdict::Kind::fresh) {
        std::uint64_t& last = accepted_[static_cast<std::size_t>(at)];
        const auto direction = at == End::device ? sim::Direction::to_device : sim::Direction::to_controller;
        if (!first.tag.as_produced(0, direction) || first.tag.instance <= last)
            conclusion.kind = Conclusion::Kind::accepted_wrongly;
        else
            last = first.tag.instance;
    }
    settle(at, first, conclusion);
}

bool CaptureRecorder::full() const {
    return file_.full() && std::ranges::all_of(waiting_, [](const std::deque<Waiting>& all) {
               return all.empty() || all.front().packet == 0;
           });
}

void CaptureRecorder::finish() {
    for (const End end : {End::controller, End::device}) {
        for (const Waiting& each : waiting(end)) {
            if (each.packet == 0) continue;
            const std::string deed = done_to(scenario_, each.tag, end);
            if (!deed.empty()) file_.remark(each.packet, deed);
            file_.remark(each.packet, run_ended);
        }
        waiting(end).clear();
    }
}

}  // namespace tools
