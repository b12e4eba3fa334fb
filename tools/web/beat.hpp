#pragma once
// What goes on beside the requests of a server: something that is done some fifty times a second.
#include <atomic>
#include <functional>
#include <optional>
#include <string>
#include <thread>

#include "tools/program/failure.hpp"

namespace tools {

class Beat {
  public:
    explicit Beat(std::function<void()> each) : each_(std::move(each)) {}
    /// Ends it, once what is under way is done.
    ~Beat();
    Beat(const Beat&) = delete;
    Beat& operator=(const Beat&) = delete;
    /// Begins; the computer may have no thread to give. `where`: for the message.
    std::optional<Failure> start(const std::string& where);

  private:
    std::function<void()> each_;
    std::atomic<bool> stopped_ = false;
    std::thread thread_;
};

}  // namespace tools
