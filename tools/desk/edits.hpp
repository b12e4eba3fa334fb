#pragma once
// A text and how it came about: each edit as what it took out and put in, so that undo needs no limit.
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace tools {

class Edits {
  public:
    explicit Edits(std::string text) : text_(std::move(text)) {}

    [[nodiscard]] const std::string& text() const { return text_; }
    /// Goes up with each change of text(), from 1.
    [[nodiscard]] std::uint64_t stamp() const { return stamp_; }

    /// What could be done again no longer can. The same text changes nothing.
    void edit(const std::string& text, std::string words);
    bool undo();  ///< false: there is nothing to undo
    bool redo();

    [[nodiscard]] std::size_t undo_steps() const { return done_; }
    [[nodiscard]] std::size_t redo_steps() const { return steps_.size() - done_; }
    /// What undo() would take back, redo() do again: the words of that edit; empty if there is none.
    [[nodiscard]] std::string undo_words() const { return done_ == 0 ? std::string() : steps_[done_ - 1].words; }
    [[nodiscard]] std::string redo_words() const { return redo_steps() == 0 ? std::string() : steps_[done_].words; }

  private:
    struct Step {
        std::size_t at = 0;
        std::string taken, put, words;
    };
    std::string text_;
    std::uint64_t stamp_ = 1;
    std::vector<Step> steps_{};
    std::size_t done_ = 0;  ///< of the steps; those after it were undone
};

}  // namespace tools
