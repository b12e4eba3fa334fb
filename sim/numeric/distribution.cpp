#include "sim/numeric/distribution.hpp"

#include <algorithm>
#include <limits>
#include <utility>

#include "sim/numeric/packed_numbers.hpp"

namespace sim {
namespace {

using Bytes = std::vector<std::uint8_t>;

struct Counted {
    std::int64_t step = std::numeric_limits<std::int64_t>::min();
    std::uint64_t count = 0;
};

/// Appends steps that come in order, as packed numbers: the difference to the step before, and how often it came.
class Writer {
  public:
    explicit Writer(Bytes& bytes) : bytes_(bytes) {}

    void put(std::int64_t step, std::uint64_t count) {
        if (last_.step != step) {
            flush();
            last_ = {step, 0};
        }
        last_.count += count;
    }
    void flush() {
        if (last_.count == 0) return;
        // unsigned: any two times have a difference
        put_packed(bytes_, static_cast<std::uint64_t>(last_.step) - static_cast<std::uint64_t>(before_));
        put_packed(bytes_, last_.count);
        before_ = last_.step;
        last_.count = 0;
        ++steps_;
    }
    [[nodiscard]] std::size_t steps() const { return steps_; }

  private:
    Bytes& bytes_;
    Counted last_;
    std::int64_t before_ = Counted{}.step;
    std::size_t steps_ = 0;
};

/// What a Writer wrote, step by step, in steps that are 2^coarser times as wide.
class Reader {
  public:
    Reader(std::span<const std::uint8_t> bytes, unsigned coarser) : bytes_(bytes), coarser_(coarser) { next(); }
    [[nodiscard]] bool more() const { return count_ > 0; }
    [[nodiscard]] Counted now() const { return {read_ >> coarser_, count_}; }
    void next() {
        count_ = 0;
        if (bytes_.empty()) return;
        read_ = static_cast<std::int64_t>(static_cast<std::uint64_t>(read_) + take_packed(bytes_).value_or(0));
        count_ = take_packed(bytes_).value_or(0);
    }

  private:
    std::span<const std::uint8_t> bytes_;
    const unsigned coarser_;
    std::int64_t read_ = Counted{}.step;
    std::uint64_t count_ = 0;
};

/// The last value of a step.
std::int64_t end_of(std::int64_t step, unsigned shift) {
    const std::uint64_t within = shift == 0 ? 0 : ~std::uint64_t{0} >> (64 - shift);
    return static_cast<std::int64_t>(static_cast<std::uint64_t>(step) << shift | within);
}

}  // namespace

void Distribution::merge(const Distribution& other, unsigned shift) {
    std::sort(waiting_.begin(), waiting_.end());
    if (!waiting_.empty()) longest_ = settled_ == 0 ? waiting_.back() : std::max(longest_, waiting_.back());
    settled_ += waiting_.size();
    Bytes merged;
    for (;; ++shift) {
        merged.clear();
        merged.reserve(counted_.size() + 2 * waiting_.size());
        Writer writer(merged);
        Reader old(counted_, shift - shift_), theirs(other.counted_, shift - other.shift_);
        auto waits = waiting_.begin();
        while (old.more() || theirs.more() || waits != waiting_.end()) {
            std::int64_t next = std::numeric_limits<std::int64_t>::max();
            if (old.more()) next = std::min(next, old.now().step);
            if (theirs.more()) next = std::min(next, theirs.now().step);
            if (waits != waiting_.end()) next = std::min(next, *waits >> shift);
            for (; old.more() && old.now().step == next; old.next()) writer.put(next, old.now().count);
            for (; theirs.more() && theirs.now().step == next; theirs.next()) writer.put(next, theirs.now().count);
            for (; waits != waiting_.end() && *waits >> shift == next; ++waits) writer.put(next, 1);
        }
        writer.flush();
        // wider only as far as it must be: then no order and no sharing out of the values ends elsewhere
        if (writer.steps() <= steps_most) break;
    }
    waiting_.clear();
    counted_ = std::move(merged);
    counted_.shrink_to_fit();
    shift_ = shift;
    // all is written anew each time: the more there is, the more waits for it, a half as many bytes at most
    at_once_ = std::max(at_once_least, counted_.size() / (2 * sizeof(std::int64_t)));
}

void Distribution::settle() {
    if (!waiting_.empty()) merge({}, shift_);
}

void Distribution::join(const Distribution& other) {
    Distribution theirs = other;
    theirs.settle();
    settle();
    if (theirs.settled_ == 0) return;
    const std::int64_t longest = settled_ == 0 ? theirs.longest_ : std::max(longest_, theirs.longest_);
    merge(theirs, std::max(shift_, theirs.shift_));
    settled_ += theirs.settled_;
    longest_ = longest;
}

std::optional<Distribution::Points> Distribution::points() {
    settle();
    if (settled_ == 0) return std::nullopt;
    const std::uint64_t n = settled_;
    std::optional<std::int64_t> median, p99;
    std::uint64_t passed = 0;
    for (Reader steps(counted_, 0); steps.more() && !p99; steps.next()) {
        passed += steps.now().count;
        const std::int64_t end = std::min(end_of(steps.now().step, shift_), longest_);
        if (!median && passed >= n / 2 + n % 2) median = end;
        if (!p99 && passed >= n - n / 100) p99 = end;
    }
    return Points{{median.value_or(longest_)}, {p99.value_or(longest_)}, {longest_}, {std::int64_t{1} << shift_}};
}

void Distribution::to_bytes(std::vector<std::uint8_t>& into) {
    settle();
    put_packed(into, settled_);
    put_packed(into, static_cast<std::uint64_t>(longest_));
    put_packed(into, shift_);
    put_packed(into, counted_.size());
    into.insert(into.end(), counted_.begin(), counted_.end());
}

std::optional<Distribution> Distribution::from_bytes(std::span<const std::uint8_t>& from) {
    Distribution read;
    std::uint64_t size = 0, shift = 0, longest = 0;
    for (std::uint64_t* const number : {&read.settled_, &longest, &shift, &size}) {
        const auto taken = take_packed(from);
        if (!taken) return std::nullopt;
        *number = *taken;
    }
    if (shift > 62 || size > from.size() || (read.settled_ == 0) != (size == 0)) return std::nullopt;
    read.longest_ = static_cast<std::int64_t>(longest);
    read.shift_ = static_cast<unsigned>(shift);
    read.counted_.assign(from.begin(), from.begin() + static_cast<std::ptrdiff_t>(size));
    from = from.subspan(size);
    // as a Writer writes them: each later than the one before, each seen, and together all
    std::uint64_t count = 0;
    std::size_t steps = 0;
    std::int64_t last = 0;
    for (std::span<const std::uint8_t> rest(read.counted_); !rest.empty(); ++steps) {
        const auto difference = take_packed(rest), came = take_packed(rest);
        if (!difference || !came || *came == 0 || *came > read.settled_ - count) return std::nullopt;
        const std::int64_t before = steps == 0 ? Counted{}.step : last;
        last = static_cast<std::int64_t>(static_cast<std::uint64_t>(before) + *difference);
        if (steps > 0 && last <= before) return std::nullopt;
        count += *came;
    }
    if (count != read.settled_ || steps > steps_most || (steps > 0 && read.longest_ >> shift != last))
        return std::nullopt;
    return read;
}

}  // namespace sim
