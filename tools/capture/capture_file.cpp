#include "tools/capture/capture_file.hpp"

#include <algorithm>

#include "sim/scenario/ends.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using sim::Hop;

std::string hop_name(Hop hop, const sim::CaptureSettings& link) {
    const std::string before = link.link.empty() ? "" : link.link + ": ";
    switch (hop) {
        case Hop::controller_to_channel: return before + link.controller.name + " to channel";
        case Hop::channel_to_device: return before + "channel to " + link.device.name;
        case Hop::device_to_channel: return before + link.device.name + " to channel";
        case Hop::channel_to_controller: return before + "channel to " + link.controller.name;
    }
    return "?";
}

std::string about(const sim::CaptureSettings& settings, std::size_t links) {
    std::string out = on_one_line(settings.title) + ". Scenario " + on_one_line(settings.scenario_file) + ", seed " +
                      std::to_string(settings.seed) + ".";
    if (links > 1) out += " " + std::to_string(links) + " links, each with its four hops.";
    out += settings.live
               ? " Over UDP on real computers; every stamp is by the clock of the channel, when it received or sent. "
                 "What was lost on its way to the channel is not here."
               : " In virtual time: 1970-01-01 00:00:00 UTC is the begin of the run. Addresses are those reserved for "
                 "documentation; the channel has none, since it is a network.";
    return out + " Telegrams of linkdrill's own kind, of no product.";
}

sim::pcapng::Buffer head_of(const std::vector<sim::CaptureSettings>& links, int link_type) {
    sim::pcapng::Buffer head;
    std::vector<std::string> comments{about(links.front(), links.size())};
    for (const sim::CaptureSettings& link : links) comments.push_back(written(link));
    sim::pcapng::put_section(head, "linkdrill " LINKDRILL_VERSION, comments);
    for (const sim::CaptureSettings& link : links)
        for (unsigned hop = 0; hop < sim::hop_count; ++hop)
            sim::pcapng::put_interface(head, {link_type, hop_name(static_cast<Hop>(hop), link), {}});
    return head;
}

}  // namespace

CaptureFile::CaptureFile(const std::vector<sim::CaptureSettings>& links, int link_type, std::uint64_t most,
                         sim::ByteSink& sink)
    : begun_ns_(links.front().begun_ns),
      digest_before_(links.front().digest),
      most_(most),
      writer_(sink, head_of(links, link_type)) {}

CaptureFile::Number CaptureFile::add(const sim::pcapng::PacketMaker& maker, std::span<const std::uint8_t> bytes,
                                     sim::Instant now, sim::CaptureWriter::Comment comment) {
    if (writer_.packets() >= most_) {
        if (summary_.whole && writer_.packets() != 0)
            writer_.remark(writer_.packets(),
                           "The capture ends here, at its limit of " + grouped(most_) + " telegrams; the run goes on.");
        summary_.whole = false;
        return 0;
    }
    summary_.ends = std::max(summary_.ends, now - sim::Instant{});
    return writer_.add(maker, static_cast<std::uint64_t>(now.ns + begun_ns_), bytes, comment);
}

bool CaptureFile::finish(std::uint64_t digest) {
    summary_.telegrams = writer_.packets();
    return writer_.finish(sim::digest_text(digest_before_), sim::digest_text(digest));
}

}  // namespace tools
