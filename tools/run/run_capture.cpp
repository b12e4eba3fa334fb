#include "tools/run/run_capture.hpp"

#include <limits>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/text/text.hpp"

namespace tools {

namespace {

sim::CaptureSettings settings_with(const sim::Scenario& scenario, std::uint64_t seed) {
    sim::CaptureSettings settings = sim::settings_of(scenario);
    settings.version = LINKDRILL_VERSION;
    settings.seed = seed;
    return settings;
}

}  // namespace

OptionSpec capture_option() {
    return {"--capture", "N", "most telegrams in capture.pcapng; 0: no capture; without it 1000000"};
}

proto::Result<std::uint64_t, Failure> capture_most(const Arguments& arguments) {
    const auto typed = arguments.number("--capture", 0, std::numeric_limits<std::uint32_t>::max());
    if (!typed) return typed.error();
    return typed.value().value_or(CaptureRecorder::usual_most);
}

RunCapture::RunCapture(std::unique_ptr<StagedFile> file, const std::vector<sim::CaptureSettings>& links, int link_type,
                       std::uint64_t most)
    : file_(std::move(file)), capture_(links, link_type, most, *file_) {}

proto::Result<std::unique_ptr<RunCapture>, Failure> RunCapture::begin_as(const std::string& folder,
                                                                         const sim::Scenario& scenario,
                                                                         const sim::CaptureSettings& settings,
                                                                         const CaptureSockets& sockets,
                                                                         std::uint64_t most) {
    auto file = StagedFile::create(folder, capture_name);
    if (!file) return file.error();
    const int link_type = sockets.controller.six ? sim::link_ipv6 : sim::link_ipv4;
    std::unique_ptr<RunCapture> capture(new RunCapture(std::move(file).value(), {settings}, link_type, most));
    capture->recorder_.emplace(scenario, sockets, capture->capture_);
    return capture;
}

proto::Result<std::unique_ptr<RunCapture>, Failure> RunCapture::begin(const std::string& folder,
                                                                      const sim::Scenario& scenario, std::uint64_t seed,
                                                                      std::uint64_t most) {
    return begin_as(folder, scenario, settings_with(scenario, seed), documentation_sockets(), most);
}

proto::Result<std::unique_ptr<RunCapture>, Failure> RunCapture::begin_cell(const std::string& folder,
                                                                           const sim::WholeCell& cell,
                                                                           std::uint64_t seed, std::uint64_t most) {
    auto file = StagedFile::create(folder, capture_name);
    if (!file) return file.error();
    std::vector<sim::CaptureSettings> settings;
    for (const sim::CellLink& link : cell.links) settings.push_back(settings_with(link.alone, seed));
    std::unique_ptr<RunCapture> capture(new RunCapture(std::move(file).value(), settings, sim::link_ipv4, most));
    capture->cell_ = std::make_unique<CellRecorder>(cell, capture->capture_);
    return capture;
}

proto::Result<std::unique_ptr<RunCapture>, Failure> RunCapture::begin_live(const std::string& folder,
                                                                           const sim::Scenario& scenario,
                                                                           std::uint64_t seed, std::uint64_t most,
                                                                           const sim::PartRecord& channel) {
    sim::CaptureSettings settings = settings_with(scenario, seed);
    settings.live = true;
    settings.begun_ns = channel.begun_ns;
    CaptureSockets sockets;
    sockets.controller = channel.controller;
    sockets.device = channel.device;
    sockets.channel = channel.channel;
    // whoever else it was: it came out of the channel's socket
    sockets.neighbour_controller = sockets.neighbour_device = sockets.stranger = channel.channel;
    return begin_as(folder, scenario, settings, sockets, most);
}

std::optional<Failure> RunCapture::finish(std::uint64_t digest) {
    if (recorder_) recorder_->finish();
    if (cell_) cell_->finish();
    capture_.finish(digest);  // what could not be written shows in the file's own state
    return file_->sync();
}

std::string RunCapture::remark(sim::Duration duration) const {
    const CaptureSummary& held = summary();
    if (held.whole) return "";
    return std::string(capture_name) + " ends at " + in_s(held.ends) + " of " + in_s(duration) + ", after " +
           counted(held.telegrams, "telegram", "telegrams") + "; --capture N holds more.";
}

Value with_capture(const Value& document, const CaptureSummary& summary) {
    Value::Object members = *document.object();
    members.push_back({"capture", Value::Object{{"file", capture_name},
                                                {"telegrams", summary.telegrams},
                                                {"whole", summary.whole},
                                                {"ends_ms", summary.ends}}});
    return members;
}

}  // namespace tools
