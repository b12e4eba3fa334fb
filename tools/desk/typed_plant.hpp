#pragma once
// What stands in the file of the desk, read and compared: made anew with every change of its text, and then only looked
// at.
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"

namespace tools {

class TypedPlant {
  public:
    /// `path`: of the file whose text it is or will be; what it names is looked for from there.
    TypedPlant(std::string text, std::string path);

    [[nodiscard]] const std::string& text() const { return text_; }
    [[nodiscard]] const std::string& path() const { return path_; }
    /// Why it cannot be read; then there is nothing else.
    [[nodiscard]] const std::optional<sim::FileError>& broken() const { return broken_; }
    [[nodiscard]] bool is_cell() const { return cell_.has_value(); }
    /// Requires a cell.
    [[nodiscard]] const sim::WholeCell& cell() const { return *cell_; }
    /// Each link with its ends, under its name; that of a file with one link is empty.
    [[nodiscard]] std::size_t links() const { return checks_.size(); }
    [[nodiscard]] const sim::Scenario& link(std::size_t number) const {
        return cell_ ? cell_->links[number].alone : *single_;
    }
    [[nodiscard]] const std::string& link_name(std::size_t number) const {
        static const std::string none;
        return cell_ ? cell_->links[number].name : none;
    }
    /// The number of the link of that name; nothing if there is none.
    [[nodiscard]] std::optional<std::size_t> link_called(const std::string& name) const;
    [[nodiscard]] const sim::CrossCheck& ends(std::size_t link) const { return checks_[link]; }
    [[nodiscard]] const sim::FunctionCheck& functions() const { return functions_; }
    /// Of ends, functions and the whole; each once.
    [[nodiscard]] const std::vector<std::string>& problems() const { return problems_; }
    [[nodiscard]] const std::vector<std::string>& cautions() const { return cautions_; }
    /// Settings that differ, over all links.
    [[nodiscard]] std::size_t differences() const;
    /// What differs so that the link starts all the same: no measure of it sees that.
    [[nodiscard]] std::size_t unseen_differences() const;
    /// A link whose ends cannot reach each other.
    [[nodiscard]] bool apart() const;
    /// Every link starts as it is typed; or that one.
    [[nodiscard]] bool starts() const;
    [[nodiscard]] bool starts(std::size_t link) const;
    [[nodiscard]] const std::string& title() const { return cell_ ? cell_->title : single_->title; }
    [[nodiscard]] std::uint64_t seed() const { return cell_ ? cell_->seed : single_->seed; }

  private:
    void read();
    void gather();

    std::string text_, path_;
    std::optional<sim::FileError> broken_;
    std::optional<sim::Scenario> single_;
    std::optional<sim::WholeCell> cell_;
    std::vector<sim::CrossCheck> checks_;
    sim::FunctionCheck functions_;
    std::vector<std::string> problems_, cautions_;
};

/// It is seen by no measure of the link.
bool is_unseen(const sim::Difference& difference);

}  // namespace tools
