#pragma once
// Threads that help the one that asks. A computer that gives no more of them is slower, not an end: whatever is shared
// by such threads comes to the same with any number of them.
#include <new>
#include <system_error>
#include <thread>
#include <utility>
#include <vector>

namespace sim {

class HelpingThreads {
  public:
    /// Up to `wanted` threads that each call `work(arguments...)` once, as many as the computer gives.
    template <class Work, class... Arguments>
    HelpingThreads(unsigned wanted, const Work& work, Arguments... arguments) {
        try {
            threads_.reserve(wanted);
            for (unsigned i = 0; i < wanted; ++i) threads_.emplace_back([&work, arguments...] { work(arguments...); });
        } catch (const std::system_error&) {  // NOLINT(bugprone-empty-catch): those that are there do the work
        } catch (const std::bad_alloc&) {     // NOLINT(bugprone-empty-catch): the same
        }
    }
    /// Waits for all of them.
    ~HelpingThreads() {
        for (std::thread& thread : threads_) thread.join();
    }
    HelpingThreads(const HelpingThreads&) = delete;
    HelpingThreads& operator=(const HelpingThreads&) = delete;

    [[nodiscard]] unsigned count() const { return static_cast<unsigned>(threads_.size()); }

  private:
    std::vector<std::thread> threads_;
};

}  // namespace sim
