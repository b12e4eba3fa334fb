#pragma once
// Long work beside the page: commands of this program in processes of their own. It goes on when the page is closed and
// is found again when it is opened.
#include <cstdint>
#include <list>
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "tools/desk/child.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct WorkAsked {
    std::string what;                    ///< "campaign", "rehearse" ...
    std::string words;                   ///< for people
    std::vector<std::string> arguments;  ///< of the command, with "-" or the file's name
    std::string input;                   ///< what is typed
    std::string folder = {};             ///< where it works: that of the file
    std::uint64_t stamp = 0;             ///< of that text
    std::string command;                 ///< the same as a person would type it
    Value again = Value::List{};         ///< what begins it once more, for the page
};

class DeskWork {
  public:
    static constexpr std::size_t at_once = 4;
    static constexpr std::size_t kept = 12;  ///< that are over

    struct Work {
        std::uint64_t id = 0;
        WorkAsked asked;
        std::optional<Child> child;
        enum class State : std::uint8_t { runs, done, stopped, failed } state = State::runs;
        bool stop_asked = false;
        int status = 0;     ///< of the command, once it is over
        Value document;     ///< its document, once it is over
        std::string line;   ///< what it said last
        std::string begun;  ///< hour
    };

    /// Its number; or why not, in a sentence.
    proto::Result<std::uint64_t, std::string> start(WorkAsked asked, std::string hour);
    /// False if there is no such work under way.
    bool stop(std::uint64_t id);
    /// Takes what is finished; never waits. True if anything changed.
    bool look();
    [[nodiscard]] const std::list<Work>& all() const { return all_; }
    /// The latest of that kind; nullptr if there is none.
    [[nodiscard]] const Work* latest(const std::string& what) const;
    [[nodiscard]] bool under_way(const std::string& what) const;

    /// "jobs" of the page, but for those whose results have a place of their own. `stamp`: of what is typed now.
    [[nodiscard]] Value told(std::uint64_t stamp) const;

  private:
    void take(Work& work, int status);

    std::list<Work> all_;
    std::uint64_t ids_ = 0;
};

}  // namespace tools
