#pragma once
// An expected failure is a value: the caller sees it in the type and cannot forget it.
#include <utility>
#include <variant>

#include "proto/contract.hpp"

namespace proto {

/// Either a T or the reason E why there is none. T and E must be different types.
template <class T, class E>
class [[nodiscard]] Result {
  public:
    Result(T value) : content_(std::in_place_index<0>, std::move(value)) {}
    Result(E error) : content_(std::in_place_index<1>, std::move(error)) {}

    [[nodiscard]] bool ok() const { return content_.index() == 0; }
    explicit operator bool() const { return ok(); }

    /// Requires ok().
    [[nodiscard]] T& value() & {
        require(ok(), "Result::value() of a failure");
        return std::get<0>(content_);
    }
    [[nodiscard]] const T& value() const& {
        require(ok(), "Result::value() of a failure");
        return std::get<0>(content_);
    }
    [[nodiscard]] T&& value() && {
        require(ok(), "Result::value() of a failure");
        return std::get<0>(std::move(content_));
    }
    /// Requires !ok().
    [[nodiscard]] const E& error() const {
        require(!ok(), "Result::error() of a success");
        return std::get<1>(content_);
    }

  private:
    std::variant<T, E> content_;
};

}  // namespace proto
