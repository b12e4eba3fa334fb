#include "tools/web/crowd.hpp"

#include "tools/web/door.hpp"

namespace tools {

Crowd::Entry Crowd::enter(Id id, const std::string& address) {
    const auto of_address = by_address_.find(address);
    const std::size_t same = of_address == by_address_.end() ? 0 : of_address->second;
    if (same >= places_of_address && !is_loopback(address)) return {};
    Entry entry{.comes_in = true};
    if (here_.size() >= places) {
        if (silent_.empty()) return {};
        entry.makes_room = silent_.front();
        leave(*entry.makes_room);
    }
    ++by_address_[address];
    silent_.push_back(id);
    here_[id] = {address, std::prev(silent_.end())};
    return entry;
}

void Crowd::asked(Id id) {
    const auto found = here_.find(id);
    if (found == here_.end() || !found->second.silent) return;
    silent_.erase(*found->second.silent);
    found->second.silent.reset();
}

void Crowd::leave(Id id) {
    const auto found = here_.find(id);
    if (found == here_.end()) return;
    asked(id);
    const auto of_address = by_address_.find(found->second.address);
    if (--of_address->second == 0) by_address_.erase(of_address);
    here_.erase(found);
}

}  // namespace tools
