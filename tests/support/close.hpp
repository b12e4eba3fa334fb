#pragma once
// Relative closeness, for every check of a value that is not exact. doctest's own Approx adds an absolute part of its
// epsilon, so that it takes anything for values far below 1; tests/cmake/check_closeness.py keeps it out.
#include <doctest/doctest.h>

namespace tests {

/// The outcome of close_to(), for CHECK: true or false, and in words for the message of a failed check.
class Closeness {
  public:
    Closeness(double found, double expected, double relative);
    explicit operator bool() const { return close_; }
    friend doctest::String toString(const Closeness& value);

  private:
    double found_, expected_, relative_;
    bool close_;
};

/// Whether `found` is `expected` to within a share `relative` of it: CHECK(close_to(found, expected, 1e-9)). An
/// expected 0 is met by 0 only, and nothing is close to what is not a number. Requires 0 < relative < 1: from 1 on, 0
/// would be close to everything.
Closeness close_to(double found, double expected, double relative);

}  // namespace tests
