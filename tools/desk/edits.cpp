#include "tools/desk/edits.hpp"

#include <algorithm>
#include <utility>

namespace tools {

void Edits::edit(const std::string& text, std::string words) {
    if (text == text_) return;
    const std::size_t shorter = std::min(text.size(), text_.size());
    std::size_t same = 0, same_behind = 0;
    while (same < shorter && text[same] == text_[same]) ++same;
    while (same_behind < shorter - same && text[text.size() - 1 - same_behind] == text_[text_.size() - 1 - same_behind])
        ++same_behind;
    steps_.resize(done_);
    steps_.push_back({same, text_.substr(same, text_.size() - same - same_behind),
                      text.substr(same, text.size() - same - same_behind), std::move(words)});
    ++done_;
    ++stamp_;
    text_ = text;
}

bool Edits::undo() {
    if (done_ == 0) return false;
    const Step& step = steps_[--done_];
    text_.replace(step.at, step.put.size(), step.taken);
    ++stamp_;
    return true;
}

bool Edits::redo() {
    if (done_ == steps_.size()) return false;
    const Step& step = steps_[done_++];
    text_.replace(step.at, step.taken.size(), step.put);
    ++stamp_;
    return true;
}

}  // namespace tools
