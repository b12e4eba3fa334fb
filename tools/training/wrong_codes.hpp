#pragma once
// Who guesses the code for joining: slowed down, by address, and counted for the instructor.
#include <cstddef>
#include <map>
#include <string>

#include "proto/time.hpp"

namespace tools {

class WrongCodes {
  public:
    static constexpr std::size_t free_of_charge = 5;  ///< of one address; people mistype
    /// After those the next of that address is looked at only so long after its last wrong one: 26 signs to the power
    /// of 6 then take ten years.
    static constexpr proto::Duration costs = proto::seconds(1);
    static constexpr std::size_t addresses_max = 256;                        ///< all others share one count
    static constexpr proto::Duration forgotten_after = proto::seconds(600);  ///< without another wrong one

    /// Not even looked at yet: no right one either.
    [[nodiscard]] bool too_soon(const std::string& address, proto::Instant now) const {
        const auto found = by_address_.find(kept_under(address));
        return found != by_address_.end() && found->second.count >= free_of_charge && now - found->second.last < costs;
    }
    void note(const std::string& address, proto::Instant now, const std::string& when) {
        Of& of = by_address_[kept_under(address)];
        if (now - of.last > forgotten_after) of.count = 0;
        ++of.count;
        of.last = now;
        ++count_;
        last_from_ = address;
        last_when_ = when;
    }
    [[nodiscard]] std::size_t count() const { return count_; }
    [[nodiscard]] const std::string& last_from() const { return last_from_; }
    [[nodiscard]] const std::string& last_when() const { return last_when_; }

  private:
    struct Of {
        std::size_t count = 0;
        proto::Instant last{};
    };
    [[nodiscard]] std::string kept_under(const std::string& address) const {
        return by_address_.size() < addresses_max || by_address_.contains(address) ? address : std::string();
    }
    std::map<std::string, Of> by_address_;
    std::size_t count_ = 0;
    std::string last_from_, last_when_;
};

}  // namespace tools
