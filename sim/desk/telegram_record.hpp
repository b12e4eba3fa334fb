#pragma once
// The telegrams of one link at a desk, from their making to what became of them. Each is followed; kept are the latest
// while somebody wants each, and always the last of each way and those that were rejected.
#include <array>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <vector>

#include "proto/telegram.hpp"
#include "sim/desk/telegrams.hpp"
#include "sim/judge/events.hpp"
#include "sim/training/afterwards.hpp"

namespace sim {

struct Scenario;

class TelegramRecord {
  public:
    static constexpr std::size_t kept = 400;

    /// Both must outlive it.
    TelegramRecord(const Scenario& scenario, std::size_t link, std::uint64_t& so_far);

    void sent(const Sent& fact);
    void befell(const Befell& fact);
    void underway(const Underway& fact);
    void delivered(const Delivered& fact);
    void unheard(const Unheard& fact, Instant now);
    /// What it concluded about; nullptr if that is not known. Until the next call of anything.
    const DeskTelegram* concluded(const Concluded& fact);
    /// That end starts anew: what it accepted before says nothing about what follows.
    void begins_anew(End end);

    void keep_each(bool each);
    /// What is kept, by number.
    [[nodiscard]] std::vector<DeskTelegram> all() const;
    /// Nothing if it is not kept, or its end has not looked at it.
    [[nodiscard]] std::optional<DeskExplained> explain(std::uint64_t id) const;

  private:
    /// With what its end had taken before: handshakes of the connection, and what it accepted last.
    struct Held {
        DeskTelegram shown;
        std::vector<std::shared_ptr<const TakenBefore>> before;
        std::optional<proto::Verdict> verdict;
    };
    using Item = std::shared_ptr<Held>;

    Item made(Direction way, Instant at);
    void put_number(DeskTelegram& telegram) const;
    void lose(Held& held, Instant now, std::string why);
    [[nodiscard]] std::vector<Item> items() const;
    [[nodiscard]] std::string fault_words(const Tag& tag) const;

    const Scenario& scenario_;
    std::size_t link_;
    std::uint64_t& so_far_;
    std::array<proto::FieldPlaces, 2> places_;  ///< by Direction
    Item sending_;                              ///< the one that was sent last
    std::vector<Item> on_the_way_;
    std::array<std::deque<Item>, 2> waiting_;                                    ///< by End: arrived, and not looked at
    Item arrived_;                                                               ///< last
    Item concluded_;                                                             ///< last
    std::array<std::vector<std::shared_ptr<const TakenBefore>>, 2> handshakes_;  ///< by End, of the last connection
    std::array<std::shared_ptr<const TakenBefore>, 2> accepted_;                 ///< last
    std::array<Item, 2> last_;                                                   ///< by Direction
    std::deque<Item> rejected_, each_;
    bool keeps_each_ = false;
};

}  // namespace sim
