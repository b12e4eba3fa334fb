#include "tools/desk/bench_words.hpp"

#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "tools/text/words.hpp"

namespace tools {

std::string bench_time(proto::Instant at) {
    constexpr std::int64_t ns_per_ms = 1'000'000, ms_per_s = 1'000;
    const std::int64_t ms = (at.ns + ns_per_ms - 1) / ns_per_ms;
    std::string parts = std::to_string(ms % ms_per_s);
    parts.insert(0, 3 - parts.size(), '0');
    return std::to_string(ms / ms_per_s) + "." + parts + " s";
}

std::string_view id_of(proto::State state) {
    switch (state) {
        case proto::State::start_up: return "starting";
        case proto::State::running: return "running";
        case proto::State::safe_state: return "stopped";
        case proto::State::awaiting_acknowledgement: return "waits";
    }
    return "?";
}

std::string cause_in_words(const sim::DeskEnd& end) {
    switch (end.cause) {
        case proto::Cause::power_up: return "switched on";
        case proto::Cause::first_value: return "first good telegram";
        case proto::Cause::time_expectation: return "no good telegram in time";
        case proto::Cause::rejected_telegram:
            return end.measure ? "rejected: " + std::string(word_for(*end.measure)) : "a telegram was rejected";
        case proto::Cause::told_by_peer: return "the other end stopped";
        case proto::Cause::peer_restarted: return "the other end started anew";
        case proto::Cause::error_free_again: return "free of errors again";
        case proto::Cause::errors_again: return "errors again";
        case proto::Cause::acknowledged: return "acknowledged";
        case proto::Cause::start_failed: return "the start failed";
    }
    return "?";
}

std::string refusal_in_words(const sim::DeskEnd& end, proto::End which, const sim::Scenario& link,
                             const sim::CrossCheck& check) {
    if (end.refusal == proto::Refusal::none) return {};
    const std::string setting = refused_setting(end.refusal, full_names(link));
    const bool here = which == proto::End::controller;
    for (const sim::Difference& one : check.differences)
        if (one.setting == setting) return here ? one.seen_at_controller : one.seen_at_device;
    return (here ? "The other end refuses the parameters: " : "Start refused: ") + setting + (here ? "" : " differs");
}

std::string_view words_for(sim::DriveCommand command) {
    switch (command) {
        case sim::DriveCommand::run: return "may run";
        case sim::DriveCommand::reduce: return "reduced speed";
        case sim::DriveCommand::stop_category_2: return "ramp, then held (category 2)";
        case sim::DriveCommand::stop_category_1: return "ramp, then power off (category 1)";
        case sim::DriveCommand::stop_category_0: return "power off (category 0)";
    }
    return "?";
}

std::string_view words_for(sim::StopCategory stop) { return words_for(sim::command_of(stop)); }

std::string_view id_of(sim::DeskFate fate) {
    switch (fate) {
        case sim::DeskFate::on_the_way: return "";
        case sim::DeskFate::waits: return "waits";
        case sim::DeskFate::accepted: return "accepted";
        case sim::DeskFate::repeated: return "repeated";
        case sim::DeskFate::ignored: return "ignored";
        case sim::DeskFate::rejected: return "rejected";
        case sim::DeskFate::lost: return "lost";
    }
    return "?";
}

std::string_view id_of(sim::DeskEvent::Mark mark) {
    switch (mark) {
        case sim::DeskEvent::Mark::act: return "act";
        case sim::DeskEvent::Mark::runs: return "runs";
        case sim::DeskEvent::Mark::stops: return "stops";
        case sim::DeskEvent::Mark::machine: return "machine";
        case sim::DeskEvent::Mark::guard: return "guard";
        case sim::DeskEvent::Mark::fault: return "fault";
        case sim::DeskEvent::Mark::other: return "other";
    }
    return "?";
}

}  // namespace tools
