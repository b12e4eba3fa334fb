#pragma once
// A bench among those of several links at one controller, which are moved together; a link that stands alone is a line
// of one.
#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "sim/training/bench_cell.hpp"

namespace sim {

class Bench;

class BenchLine {
  public:
    BenchLine(const BenchLine&) = delete;
    BenchLine& operator=(const BenchLine&) = delete;

    [[nodiscard]] std::size_t links() const { return all_.size(); }
    /// In the order of the cell. Only the bench of the link in question knows the others.
    [[nodiscard]] const Bench& of_link(std::size_t link) const { return *all_[link]; }
    [[nodiscard]] const std::string& link_name() const { return link_name_; }  ///< empty: it stands alone
    /// The guard is read at this link's station; what the controller reads itself, at the link in question.
    [[nodiscard]] bool reads_guard(std::size_t safeguard) const { return reads_[safeguard]; }
    /// A machine of any link moves; one that nothing tells to stop.
    [[nodiscard]] bool anything_moves() const;
    [[nodiscard]] bool anything_moves_unstopped() const;
    /// An acknowledgement is asked for at the controller, of any link.
    [[nodiscard]] bool asks_for_acknowledgement() const;

  protected:
    BenchLine(std::string link_name, std::vector<bool> reads);
    ~BenchLine();

    std::string link_name_;
    std::vector<bool> reads_;  ///< by safeguard
    std::vector<std::unique_ptr<Bench>> others_;
    std::vector<Bench*> all_;                          ///< in the order of the cell
    std::unique_ptr<JoinedLinks<BenchHeard>> joined_;  ///< nothing: it stands alone
};

}  // namespace sim
