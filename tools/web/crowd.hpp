#pragma once
// Who is connected, and who has to make room: a stranger who opens many connections and says nothing on them must not
// keep others out.
#include <cstddef>
#include <cstdint>
#include <list>
#include <map>
#include <optional>
#include <string>

namespace tools {

/// Not for several threads at once.
class Crowd {
  public:
    static constexpr std::size_t places = 600;            ///< connections
    static constexpr std::size_t places_of_address = 64;  ///< of them for one address that is not of this machine
    using Id = std::uint64_t;

    /// Whether one more from there may come in; if so it is there from now on. `makes_room`: who has to go for it, the
    /// one that has been longest without having asked for anything.
    struct Entry {
        bool comes_in = false;
        std::optional<Id> makes_room = {};
    };
    Entry enter(Id id, const std::string& address);
    /// It has asked for something: it makes room for nobody any more.
    void asked(Id id);
    /// Of no effect for one that is not there.
    void leave(Id id);
    [[nodiscard]] std::size_t size() const { return here_.size(); }

  private:
    struct One {
        std::string address;
        std::optional<std::list<Id>::iterator> silent;
    };
    std::map<Id, One> here_;
    std::map<std::string, std::size_t> by_address_;
    std::list<Id> silent_;  ///< have asked for nothing yet, the longest first
};

}  // namespace tools
