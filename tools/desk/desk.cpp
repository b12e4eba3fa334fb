#include "tools/desk/desk.hpp"

#include <algorithm>
#include <utility>

#include "tools/examples/templates.hpp"

namespace tools {
namespace {

constexpr proto::Duration nobody_looks_after = proto::seconds(3);
constexpr proto::Duration draft_after = proto::milliseconds(200);
constexpr proto::Duration look_at_file_every = proto::milliseconds(1000);
constexpr const char* example_template = "guards_in_one_bit";

}  // namespace

Desk::Desk(DeskSettings settings, FolderBeneath folder, DeskSurroundings surroundings)
    : settings_(std::move(settings)), folder_(std::move(folder)), surroundings_(std::move(surroundings)) {}

Desk::~Desk() {
    // what was typed in the last moment
    if (file_ && edited_at_ && !example_) file_->keep_draft();
}

std::optional<Failure> Desk::open(const std::string& name) {
    const std::lock_guard lock(mutex_);
    auto file = DeskFile::open(folder_, name);
    if (!file) return file.error();
    take_up(std::move(file).value(), false);
    return std::nullopt;
}

void Desk::open_example() {
    const std::lock_guard lock(mutex_);
    auto text = template_text(example_template);
    if (!text) return;  // nobody knows where the templates are: the page says what there is in the folder
    auto file = DeskFile::begin(folder_, "example_of_the_desk.toml", std::move(text).value());
    if (file) take_up(std::move(file).value(), true);
}

void Desk::run_on() {
    const std::lock_guard lock(mutex_);
    const proto::Instant now = surroundings_.now();
    if (bench_) bench_->run_on(now, seen_ && now - *seen_ < nobody_looks_after);
    curves_.look(now);
    work_.look();
    take_lists();
    if (!file_) return;
    look_around(now);
    if (edited_at_ && now - *edited_at_ >= draft_after) {
        edited_at_.reset();
        draft_trouble_.clear();
        if (!example_)
            if (const auto failure = file_->keep_draft()) draft_trouble_ = failure->one_line();
    }
    if (!example_ && (!looked_at_file_ || now - *looked_at_file_ >= look_at_file_every)) {
        looked_at_file_ = now;
        file_->look();
        folder_ = file_->home().folder();
    }
}

/// Where what is typed lies is told only once it lies there.
void Desk::notice_if_gone() {
    if (!file_ || example_ || !file_->home().gone()) return;
    file_->look();
    if (const auto failure = file_->keep_draft()) draft_trouble_ = failure->one_line();
}

bool Desk::listens(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    std::size_t all = 0;
    for (const auto& [session, count] : streams_) all += count;
    if (!sessions_.contains(request.session) || all >= streams_max) return false;
    ++streams_[request.session];
    return true;
}

void Desk::listens_no_more(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    const auto found = streams_.find(request.session);
    if (found != streams_.end() && --found->second == 0) streams_.erase(found);
}

std::optional<Value> Desk::event(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    if (!sessions_.contains(request.session)) return std::nullopt;
    seen_ = surroundings_.now();
    if (bench_) bench_->run_on(*seen_, true);
    return told();
}

}  // namespace tools
