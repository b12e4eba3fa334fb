#include "sim/studies/demand_times.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

/// Contacts a and b of a guard.
std::array<bool, 2> contacts_of(const Demand& demand) {
    return {demand.channel != DemandChannel::b, demand.channel != DemandChannel::a};
}

std::string in_words(const Demand& demand) {
    return "from " + written(demand.at) + (demand.lasting == Duration{} ? "" : " for " + written(demand.lasting));
}

/// The demands of one guard, by the time at which they begin.
std::vector<const Demand*> demands_of(const Scenario& scenario, const Safeguard& guard) {
    std::vector<const Demand*> demands;
    for (const Demand& demand : scenario.demands)
        if (demand.safeguard == guard.name) demands.push_back(&demand);
    std::stable_sort(demands.begin(), demands.end(), [](const Demand* a, const Demand* b) { return a->at < b->at; });
    return demands;
}

/// What keeps each contact of a guard open longest so far.
class ContactsOpen {
  public:
    ContactsOpen(const Scenario& scenario, const Safeguard& guard)
        : held_(guard.minimum_hold != Duration{} ? guard.minimum_hold : least_hold(scenario, guard.at)) {}

    /// The demand under which this one begins, at a contact that both open; nullptr if none.
    const Demand* open(const Demand& demand) {
        const Demand* under = nullptr;
        for (std::size_t contact = 0; contact < last_.size(); ++contact) {
            if (!contacts_of(demand)[contact]) continue;
            const Demand*& last = last_[contact];
            if (last != nullptr && demand.at < end_of(*last)) under = last;
            if (last == nullptr || end_of(demand) > end_of(*last)) last = &demand;
        }
        return under;
    }

  private:
    [[nodiscard]] Duration end_of(const Demand& demand) const { return demand.at + std::max(demand.lasting, held_); }

    Duration held_;
    std::array<const Demand*, 2> last_{};
};

}  // namespace

void add_demands(const Scenario& scenario, CrossCheck& result) {
    for (const Safeguard& guard : scenario.safeguards) {
        ContactsOpen contacts(scenario, guard);
        std::string words;
        std::size_t more = 0;
        for (const Demand* demand : demands_of(scenario, guard)) {
            const Demand* const under = contacts.open(*demand);
            if (under != nullptr && !words.empty()) ++more;
            if (under != nullptr && words.empty()) words = in_words(*under) + ", and " + in_words(*demand);
        }
        if (words.empty()) continue;
        result.cautions.push_back("two demands of " + guard.name + " overlap: " + words +
                                  (more == 0 ? "" : ", and " + std::to_string(more) + " more") +
                                  "; to the machine they are one, and only the first shows anything");
    }
}

}  // namespace sim
