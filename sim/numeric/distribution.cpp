#include "sim/numeric/distribution.hpp"

#include <algorithm>
#include <limits>
#include <utility>

namespace sim {
namespace {

using Bytes = std::vector<std::uint8_t>;

struct Counted {
    std::int64_t value = std::numeric_limits<std::int64_t>::min();
    std::uint64_t count = 0;
};

/// Appends values that come in order. As bytes: the difference to the value before, and how often it came, each seven
/// bits a byte, the lowest first, with the highest bit where more follow.
class Writer {
  public:
    explicit Writer(Bytes& bytes) : bytes_(bytes) {}

    void put(std::int64_t value, std::uint64_t count) {
        if (last_.value != value) {
            flush();
            last_ = {value, 0};
        }
        last_.count += count;
    }
    void flush() {
        if (last_.count == 0) return;
        // unsigned: any two times have a difference
        put_number(static_cast<std::uint64_t>(last_.value) - static_cast<std::uint64_t>(before_));
        put_number(last_.count);
        before_ = last_.value;
    }

  private:
    void put_number(std::uint64_t number) {
        for (; number >= 0x80; number >>= 7) bytes_.push_back(static_cast<std::uint8_t>(number | 0x80));
        bytes_.push_back(static_cast<std::uint8_t>(number));
    }
    Bytes& bytes_;
    Counted last_;
    std::int64_t before_ = Counted{}.value;
};

/// What a Writer wrote, value by value.
class Reader {
  public:
    explicit Reader(const Bytes& bytes) : bytes_(bytes) { next(); }
    [[nodiscard]] bool more() const { return now_.count > 0; }
    [[nodiscard]] const Counted& now() const { return now_; }
    void next() {
        if (place_ == bytes_.size()) {
            now_.count = 0;
            return;
        }
        now_.value = static_cast<std::int64_t>(static_cast<std::uint64_t>(now_.value) + number());
        now_.count = number();
    }

  private:
    std::uint64_t number() {
        std::uint64_t value = 0;
        for (unsigned shift = 0;; shift += 7) {
            const std::uint64_t byte = bytes_[place_++];
            value |= (byte & 0x7F) << shift;
            if (byte < 0x80) return value;
        }
    }
    const Bytes& bytes_;
    std::size_t place_ = 0;
    Counted now_;
};

}  // namespace

void Distribution::settle() {
    std::sort(waiting_.begin(), waiting_.end());
    Bytes merged;
    merged.reserve(counted_.size() + 2 * waiting_.size());
    Writer writer(merged);
    Reader old(counted_);
    for (const std::int64_t value : waiting_) {
        for (; old.more() && old.now().value <= value; old.next()) writer.put(old.now().value, old.now().count);
        writer.put(value, 1);
    }
    for (; old.more(); old.next()) writer.put(old.now().value, old.now().count);
    writer.flush();
    settled_ += waiting_.size();
    waiting_.clear();
    counted_ = std::move(merged);
    // all is written anew each time: the more there is, the more waits for it, a half as many bytes at most
    at_once_ = std::max(at_once_least, counted_.size() / (2 * sizeof(std::int64_t)));
}

std::optional<Distribution::Points> Distribution::points() {
    settle();
    if (settled_ == 0) return std::nullopt;
    const std::uint64_t n = settled_;
    std::optional<std::int64_t> median, p99;
    std::uint64_t passed = 0;
    std::int64_t longest = 0;
    for (Reader values(counted_); values.more(); values.next()) {
        passed += values.now().count;
        longest = values.now().value;
        if (!median && passed >= (n + 1) / 2) median = longest;
        if (!p99 && passed >= n - n / 100) p99 = longest;
    }
    return Points{{median.value_or(longest)}, {p99.value_or(longest)}, {longest}};
}

}  // namespace sim
