#pragma once
// Probability over a few of very many states: a state is a word, and only those with mass are kept. States come out in
// the order in which they first came in, so sums are the same in every run.
#include <cstddef>
#include <cstdint>
#include <vector>

namespace sim {

class SparseMass {
  public:
    struct Entry {
        std::uint64_t state;
        double mass;
    };

    SparseMass() : table_(std::size_t{1} << bits_, 0) {}

    void add(std::uint64_t state, double mass) {
        if (!(mass > 0.0)) return;
        for (std::size_t at = place(state);; at = (at + 1) & (table_.size() - 1)) {
            if (table_[at] == 0) {
                entries_.push_back({state, mass});
                table_[at] = static_cast<std::uint32_t>(entries_.size());
                if (entries_.size() * 2 > table_.size()) grow();
                return;
            }
            Entry& entry = entries_[table_[at] - 1];
            if (entry.state == state) {
                entry.mass += mass;
                return;
            }
        }
    }
    [[nodiscard]] const std::vector<Entry>& entries() const { return entries_; }
    [[nodiscard]] std::size_t size() const { return entries_.size(); }
    void clear() {
        // few states in a large table: take out those alone
        if (entries_.size() * 8 < table_.size())
            for (const Entry& entry : entries_) wipe(entry.state);
        else
            table_.assign(table_.size(), 0);
        entries_.clear();
    }

  private:
    [[nodiscard]] std::size_t place(std::uint64_t state) const {
        return static_cast<std::size_t>((state * 0x9E3779B97F4A7C15ULL) >> (64 - bits_));
    }
    /// Clears the run of places in which that state may stand; the others of the run are wiped as well, in time.
    void wipe(std::uint64_t state) {
        for (std::size_t at = place(state); table_[at] != 0; at = (at + 1) & (table_.size() - 1)) table_[at] = 0;
    }
    void grow() {
        ++bits_;
        table_.assign(std::size_t{1} << bits_, 0);
        for (std::size_t i = 0; i < entries_.size(); ++i) {
            std::size_t at = place(entries_[i].state);
            while (table_[at] != 0) at = (at + 1) & (table_.size() - 1);
            table_[at] = static_cast<std::uint32_t>(i + 1);
        }
    }

    unsigned bits_ = 10;
    std::vector<Entry> entries_;
    std::vector<std::uint32_t> table_;  ///< 1 + index in entries_, 0 free
};

}  // namespace sim
