#pragma once
// What each watchdog would bring, link by link: reckoned by the command `watchdog` in processes beside the desk, first
// in a dozen points and then in more, so that a handle can be moved over them.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tools/desk/child.hpp"
#include "tools/text/value.hpp"

namespace tools {

class TypedPlant;

class WatchdogCurves {
  public:
    struct Asked {
        std::shared_ptr<const TypedPlant> typed;  ///< whose ends agree; nullptr: nothing can be said
        std::string why_not = {};                 ///< a sentence then
        std::string folder = {};                  ///< that of the file: what it names is looked for from there
        bool agree = true;  ///< else what is typed differs, and this is as it would be: nothing is called usable then
    };
    /// What is to be reckoned from now on; what is under way for another text ends. It begins once nothing else was
    /// asked for a moment: whoever types goes on typing.
    void ask(Asked asked, proto::Instant now);
    /// Takes what has been reckoned and starts what is next, one link at a time; never waits.
    void look(proto::Instant now);
    /// Something is under way.
    [[nodiscard]] bool reckons() const;

    /// "watchdogs" of the page.
    [[nodiscard]] Value told() const;
    /// For the line that is always true: word, rest and mark of all links together.
    struct Truth {
        std::string mark, word, rest;
    };
    [[nodiscard]] Truth truth() const;

  private:
    struct Link {
        std::string name;
        std::optional<Child> child;
        bool dense = false;  ///< the child reckons the second table
        bool done = false;
        bool stale = false;  ///< `told` is of what was typed before
        std::int64_t begun_ms = 0;
        Value first, more;  ///< documents of the command
        std::string why;    ///< it could not be reckoned
        Value told;
    };
    void begin_all();
    void begin(Link& link, const std::vector<std::string>& more);
    void take(Link& link, int status);
    void describe(Link& link, std::size_t number);

    Asked asked_;
    std::optional<proto::Instant> asked_at_;  ///< not begun yet
    std::vector<Link> links_;
};

}  // namespace tools
