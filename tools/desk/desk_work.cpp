#include "tools/desk/desk_work.hpp"

#include <algorithm>
#include <utility>

#include "tools/desk/work_words.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

std::string_view name_of(DeskWork::Work::State state) {
    switch (state) {
        case DeskWork::Work::State::runs: return "runs";
        case DeskWork::Work::State::done: return "done";
        case DeskWork::Work::State::stopped: return "stopped";
        case DeskWork::Work::State::failed: return "failed";
    }
    return "?";
}

constexpr int interrupted = 130;
constexpr int machine_said_no_status = 3;

}  // namespace

proto::Result<std::uint64_t, std::string> DeskWork::start(WorkAsked asked, std::string hour) {
    const auto running = std::count_if(all_.begin(), all_.end(), [](const Work& one) { return one.child.has_value(); });
    if (static_cast<std::size_t>(running) >= at_once)
        return std::string("four pieces of work are under way; stop one, or wait for it");
    auto child = Child::start({.arguments = asked.arguments, .folder = asked.folder, .input = asked.input});
    if (!child) return child.error();
    Work& work = all_.emplace_back();
    work.id = ++ids_;
    work.asked = std::move(asked);
    work.begun = std::move(hour);
    work.child.emplace(std::move(child).value());
    while (all_.size() > kept) {
        const auto over = std::find_if(all_.begin(), all_.end(), [](const Work& one) { return !one.child; });
        if (over == all_.end()) break;
        all_.erase(over);
    }
    return work.id;
}

bool DeskWork::stop(std::uint64_t id) {
    for (Work& work : all_) {
        if (work.id != id || !work.child) continue;
        work.child->stop();
        work.stop_asked = true;
        return true;
    }
    return false;
}

bool DeskWork::look() {
    bool changed = false;
    for (Work& work : all_) {
        if (!work.child) continue;
        if (const std::optional<int> status = work.child->over()) {
            take(work, *status);
            changed = true;
        } else if (std::string line = work.child->last_line(); line != work.line) {
            work.line = std::move(line);
            changed = true;
        }
    }
    return changed;
}

void DeskWork::take(Work& work, int status) {
    const Child child = std::move(*work.child);
    work.child.reset();
    work.status = status;
    auto document = from_json(child.output());
    if (document) work.document = std::move(document).value();
    const std::string error = look_up_text(work.document, "error", "message");
    work.line = child.last_line();
    if (status == interrupted || (work.stop_asked && !document))
        work.state = Work::State::stopped;
    else if (!document || !error.empty() || status > machine_said_no_status)
        work.state = Work::State::failed;
    else
        work.state = Work::State::done;
    if (!error.empty()) work.line = error;
    if (work.state == Work::State::failed && work.line.empty())
        work.line = "the command ended with status " + std::to_string(status) + " and said nothing";
}

const DeskWork::Work* DeskWork::latest(const std::string& what) const {
    const auto found =
        std::find_if(all_.rbegin(), all_.rend(), [&](const Work& one) { return one.asked.what == what; });
    return found == all_.rend() ? nullptr : &*found;
}

bool DeskWork::under_way(const std::string& what) const {
    return std::any_of(all_.begin(), all_.end(),
                       [&](const Work& one) { return one.asked.what == what && one.child.has_value(); });
}

Value DeskWork::told(std::uint64_t stamp) const {
    Value::List jobs;
    for (const Work& work : all_) {
        if (work.asked.what == "rehearse" || work.asked.what == "residual" || work.asked.what == "lists") continue;
        Value result;
        if (work.state == Work::State::done) result = result_in_words(work.asked.what, work.document);
        const bool over_too_soon = work.state == Work::State::failed || work.state == Work::State::stopped;
        const auto progress = work.child ? progress_in(work.line) : std::nullopt;
        jobs.push_back(Value::Object{{"id", work.id},
                                     {"what", work.asked.what},
                                     {"words", work.asked.words},
                                     {"state", name_of(work.state)},
                                     {"progress", Value::of(progress)},
                                     {"line", work.line},
                                     {"command", work.asked.command},
                                     {"begun", work.begun},
                                     {"result", std::move(result)},
                                     {"again", over_too_soon ? work.asked.again : Value(Value::List{})},
                                     {"old", work.asked.stamp != stamp}});
    }
    return jobs;
}

}  // namespace tools
