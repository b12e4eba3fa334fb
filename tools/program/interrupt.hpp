#pragma once
// Ctrl-C, and SIGTERM as well: ends the program at once with status 130, except while files are being put in place.
#include <atomic>

namespace tools {

/// From now on Ctrl-C says on standard error that it stopped, and ends with 130.
void end_on_interrupt();

/// From now on a thread that gets no memory ends the program with status 3, and says so.
void end_on_no_memory();

/// In the environment of a program that another one started for itself: the number of that process.
inline constexpr const char* ends_with_process = "LINKDRILL_ENDS_WITH";
/// Where that stands in the environment: this program ends when that one does, however it ends.
void end_with_starter();

/// While one lives, Ctrl-C waits; at its end the program ends with 130 if one came.
class HoldInterrupt {
  public:
    HoldInterrupt();
    ~HoldInterrupt();
    HoldInterrupt(const HoldInterrupt&) = delete;
    HoldInterrupt& operator=(const HoldInterrupt&) = delete;
};

/// While one lives, Ctrl-C that ends the program removes a file first: one that is of no use if it is not finished.
/// Eight at a time; more are not removed.
class RemoveOnInterrupt {
  public:
    /// The path stays where it is, and as it is, while this lives.
    explicit RemoveOnInterrupt(const char* path);
    ~RemoveOnInterrupt();
    RemoveOnInterrupt(const RemoveOnInterrupt&) = delete;
    RemoveOnInterrupt& operator=(const RemoveOnInterrupt&) = delete;

  private:
    std::atomic<const char*>* place_ = nullptr;
};

/// While one lives, Ctrl-C is only noted, for work that ends itself and keeps what is finished. One at a time.
class NoteInterrupt {
  public:
    NoteInterrupt();
    ~NoteInterrupt();
    NoteInterrupt(const NoteInterrupt&) = delete;
    NoteInterrupt& operator=(const NoteInterrupt&) = delete;
    [[nodiscard]] bool came() const;

  private:
    bool listens_ = false;  ///< not where Ctrl-C was ignored before
};

}  // namespace tools
