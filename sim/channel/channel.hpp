#pragma once
// The channel: everything between the safety layers. It delays, loses and bends telegrams as its settings say, and
// lets fault stages act on those they are for. It carries two links: number 0 is the one under rehearsal, number 1
// its neighbour. Bytes on the way are accompanied by a tag that says the truth about them; no endpoint sees it.
#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "proto/time.hpp"
#include "sim/channel/background_queue.hpp"
#include "sim/channel/bit_errors.hpp"
#include "sim/channel/burst_loss.hpp"
#include "sim/channel/delay.hpp"
#include "sim/channel/history.hpp"
#include "sim/channel/passage.hpp"
#include "sim/channel/quiet_telegrams.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

class Channel;

/// A stage need not be called for a telegram whose ordinal is below `before_ordinal` and that is offered before
/// `before`: one of the two reached is enough to wake it. The channel asks again after each call of pass().
struct Quiet {
    std::uint64_t before_ordinal = 0;
    Instant before{};
    [[nodiscard]] bool covers(std::uint64_t ordinal, Instant now) const {
        return ordinal < before_ordinal && now < before;
    }
};

/// One fault on the way. See fault_stages.hpp for those that exist.
class FaultStage {
  public:
    enum class Pass : std::uint8_t { deliver, drop };
    FaultStage() = default;
    FaultStage(const FaultStage&) = delete;
    FaultStage& operator=(const FaultStage&) = delete;
    virtual ~FaultStage() = default;
    [[nodiscard]] virtual Quiet quiet() const = 0;
    /// May change bytes and passage, schedule further telegrams, or drop. Called for every telegram of either link
    /// that is offered when not quiet, in the order in which stages were added, until one drops it.
    virtual Pass pass(Telegram& telegram, Passage& passage, Channel& channel) = 0;
    /// Of one that acts on so many process telegrams: how many of link 0 it has acted on, of that direction.
    [[nodiscard]] virtual std::uint64_t counted(Direction) const { return 0; }
};

/// Hears which telegrams faults touch.
class InjectionLog {
  public:
    /// `fault` is the index in the scenario. `since` is when the fault began to act (for a fault with a duration: its
    /// begin, or the sending of the first telegram touched if it has a condition; else that of this telegram).
    virtual void touched(std::size_t fault, Direction direction, Instant since, Instant now) = 0;

  protected:
    ~InjectionLog() = default;
};

/// What the channel did with a telegram besides carrying it, while it was offered.
struct Befallen {
    Tag tag;
    Fate fate;
};

class Channel {
  public:
    static constexpr unsigned link_count = sim::link_count;
    static constexpr unsigned slots = 256;  ///< telegrams on the way at once; more are dropped and counted
    static constexpr unsigned history_length = History::length;
    using Past = sim::Past;
    using Counting = sim::Counting;

    /// Settings per direction, the same for both links; draws of each link and direction have streams of their own.
    Channel(const ChannelSettings& to_device, const ChannelSettings& to_controller, std::uint64_t seed);
    Channel(const Channel&) = delete;
    Channel& operator=(const Channel&) = delete;
    ~Channel() = default;

    /// As if made anew with that seed, and with what the settings now say of other traffic and losses in bursts;
    /// delays, losses and bit errors must be as they were. Without faults and history. Keeps its room.
    void begin_again(const ChannelSettings& to_device, const ChannelSettings& to_controller, std::uint64_t seed);

    /// What `one` makes of its settings lies where `with` has it from now on, as far as it is the same: tables of
    /// delays of several channels that take turns would drive each other out of the cache.
    friend void share_settings(Channel& one, const Channel& with);

    /// `number`: by which it can be taken off alone.
    void add(std::unique_ptr<FaultStage> stage, std::size_t number = all_stages);
    /// Before that no stage acts on what is offered, whatever its ordinal.
    [[nodiscard]] Instant untouched_before() const { return untouched_before_; }
    static constexpr std::size_t all_stages = std::numeric_limits<std::size_t>::max();
    /// Takes every fault off, or the one of that number, which is handed back if it is there; what it has already
    /// touched stays on its way.
    std::unique_ptr<FaultStage> remove_stages(std::size_t number = all_stages);

    /// A free slot to write a telegram into before offer(). The next call gives the same slot until it is offered.
    /// When none is free it is a spare one, whose telegram will be dropped and counted.
    Telegram& slot() {
        if (__builtin_expect(current_ == nullptr, 1)) current_ = used_count_ != slots ? pop_free() : spare_;
        return current_->telegram;
    }
    /// Sends the telegram in the slot on its way. `tag` must be true. The wait behind other traffic comes first, then
    /// the stages, the channel's own loss and its bit errors; then order is kept.
    void offer(Telegram& telegram, Tag tag, Instant now);

    /// For stages: sends a copy besides. `passage.due` must be set (see due_beside()); the copy keeps its order only
    /// by its due time, behind the telegram now being offered if that is due at the same time. Loss and bit errors of
    /// the channel do not touch it. False, and counted as overflow, if no slot is free.
    bool schedule(const Telegram& telegram, const Passage& passage);
    /// For stages: another delay of that link and direction, independent of those of the ordinary telegrams.
    [[nodiscard]] proto::Duration draw_delay(std::uint8_t link, Direction direction);
    /// For stages: holds back what is offered later on that link and direction so that it does not overtake `due`.
    void keep_behind(std::uint8_t link, Direction direction, Instant due);
    /// For stages: when a copy arrives that travels beside the telegram now being offered. Never before that one:
    /// together with it where order is kept, else after a delay of its own if that is longer.
    [[nodiscard]] Instant due_beside(const Passage& passage);
    /// Whether the settings of that direction keep the order of telegrams.
    [[nodiscard]] bool keeps_order(Direction direction) const;

    /// What was offered `back` process telegrams ago on that link and direction: 0 the newest before the current one.
    /// nullptr if there is none or it is no longer kept. Only what was distinct counts if `distinct` (repeats of the
    /// same bytes are one, with the tag of the last of them). Valid until the next offer().
    [[nodiscard]] const Past* past(std::uint8_t link, Direction direction, unsigned back, Counting counting) const;
    /// The last parameter telegram of the first handshake step that was offered on link 0, or nullptr.
    [[nodiscard]] const Past* past_offer() const;
    /// The first such telegram: it belongs to the first start of the run.
    [[nodiscard]] const Past* first_offer() const;
    /// Keeps the history that past() needs; off by default, since it costs a copy per telegram.
    void keep_history();
    /// From now on what befalls a telegram is kept until take_fates(): for whoever wants to know after each offer().
    void keep_fates() { keeps_fates_ = true; }
    /// What was kept since the last call, in order.
    [[nodiscard]] std::vector<Befallen> take_fates() { return std::exchange(fates_, {}); }

    [[nodiscard]] Instant next_due() const {
        return pending_count_ != 0 ? places_[pending_count_ - 1].due : proto::never;
    }
    /// A slot: a telegram and its way, side by side, so that one address leads to both.
    struct alignas(64) Carried {
        Passage passage;
        std::uint64_t between = 0;  ///< so that the bytes begin a line of memory, and the rest fills the one before
        Telegram telegram;
    };
    struct Delivery {
        const Telegram* telegram;
        const Passage& passage;  ///< like the telegram: until release()
        Carried* carried;        ///< the channel's own
    };
    /// The next telegram; requires next_due() != never. Hand back with release() once its bytes were copied.
    Delivery take() {
        proto::require(pending_count_ != 0, "Channel::take() of nothing");
        Carried* const carried = places_[--pending_count_].carried;
        return {&carried->telegram, carried->passage, carried};
    }
    void release(const Delivery& delivery) {
        proto::require(delivery.carried != nullptr && used_count_ != 0, "Channel::release() of what was not taken");
        push_free(delivery.carried);
    }

    // ---- passing over quiet telegrams of link 0, as long as there are no fault stages ----
    /// From now on telegrams are told apart: ordinary or strange. The streams of draws stay what they are.
    void foresee(QuietTelegrams to_device, QuietTelegrams to_controller);
    /// Strange telegrams so far, handshakes among them. Requires foresee(), like all that follow.
    [[nodiscard]] std::uint64_t strange() const { return foresight_->strange; }
    /// Places of the telegrams of that direction since forget_places(), in order.
    [[nodiscard]] const std::vector<std::uint16_t>& places(Direction direction) const {
        return foresight_->ways[static_cast<std::size_t>(direction)].places;
    }
    void forget_places();
    [[nodiscard]] const QuietTelegrams& quiet(Direction direction) const {
        return foresight_->ways[static_cast<std::size_t>(direction)].quiet;
    }
    /// The next telegrams of that direction are known: so many ordinary ones, and then, if wanted, a strange one. Those
    /// after them are drawn again.
    enum class Then : std::uint8_t { as_drawn, strange };
    void foretell(Direction direction, std::uint64_t ordinary, Then then);
    /// As if so many ordinary telegrams of each direction had passed in the time `by`, and those now on the way had
    /// taken the places of the last of them; `renew` makes their bytes anew.
    template <class Renew>
    void skip(Duration by, const std::array<std::uint64_t, 2>& telegrams, Renew renew) {
        for (unsigned i = 0; i < pending_count_; ++i) {
            Carried& carried = *places_[i].carried;
            places_[i].due = places_[i].due + by;
            carried.passage.due = carried.passage.due + by;
            carried.passage.sent = carried.passage.sent + by;
            carried.passage.ordinal += telegrams[static_cast<std::size_t>(carried.passage.tag.direction)];
            renew(carried.passage, carried.telegram);
        }
        skip_lanes(by, telegrams);
    }
    /// What is on the way, the next to arrive first.
    template <class Look>
    void for_each_on_the_way(Look look) const {
        for (unsigned i = pending_count_; i-- > 0;) look(places_[i].carried->passage, places_[i].carried->telegram);
    }

    [[nodiscard]] std::uint64_t offered(std::uint8_t link, Direction direction) const {  ///< process telegrams
        return lanes_[lane_of(link, direction)].process;
    }
    /// What the channel did by itself, without any fault: how many telegrams.
    struct Losses {
        std::uint64_t lost = 0;         ///< by its own loss
        std::uint64_t bent = 0;         ///< by its own bit errors
        std::uint64_t crowded_out = 0;  ///< since more were on the way than it holds
    };
    [[nodiscard]] const Losses& losses() const { return losses_; }

  private:
    /// A place in two lists that begin together.
    struct Place {
        Instant due;
        Carried* carried = nullptr;  ///< on the way
        Carried* free = nullptr;
    };
    /// One direction's settings, made ready.
    struct alignas(64) Way {
        explicit Way(const ChannelSettings& settings);
        bool operator==(const Way&) const = default;
        bool spoils = false;  ///< losses or bit errors may come
        bool keep_order;
        DelayTable delay;
        std::uint64_t loss;  ///< threshold
        BitErrors bit_errors;
    };
    /// One direction of one link. What each telegram asks for stands first.
    struct Lane {
        const Way* way = nullptr;  ///< of its direction
        Random delays;
        std::uint64_t offered = 0;     ///< telegrams of every kind: numbers the draws
        proto::Duration next_delay{};  ///< of the next one: drawn ahead, so that nothing waits for the draw
        std::uint64_t process = 0;
        Instant not_before{std::numeric_limits<std::int64_t>::min()};  ///< nothing offered later is due earlier
        Random losses, bit_errors, extra_delays;
        std::uint64_t extra = 0;  ///< extra delays drawn
    };
    /// What few channels have, for one direction of one link; kept apart so that the others neither ask nor load it.
    struct Extras {
        std::optional<BackgroundQueue> queue;
        std::optional<BurstLossChain> bursts;
    };
    /// One direction of link 0 while telegrams are foreseen.
    struct Foreseen {
        QuietTelegrams quiet;
        std::uint64_t ordinary_below = 0;  ///< telegrams of every kind up to there are foretold to be ordinary
        bool then_strange = false;         ///< and the one after them to be strange
        std::vector<std::uint16_t> places;
    };
    struct Foresight {
        std::array<Foreseen, 2> ways;
        std::uint64_t strange = 0;
    };
    struct Stage {
        std::unique_ptr<FaultStage> stage;
        Quiet quiet;
        std::size_t number = all_stages;
    };
    [[nodiscard]] const Way& way(Direction direction) const { return *ways_[static_cast<std::size_t>(direction)]; }
    void use_ways();
    [[nodiscard]] Carried* pop_free() { return used_count_ != slots ? places_[used_count_++].free : nullptr; }
    void push_free(Carried* carried) { places_[--used_count_].free = carried; }
    void insert(Carried* carried, Instant due);
    FaultStage::Pass through_stages(Telegram& telegram, Passage& passage);
    /// The channel's own loss and bit errors; false if the telegram does not arrive.
    bool spoil(Telegram& telegram, Passage& passage, std::uint64_t draw, bool arrives);
    bool spoil_foreseen(Telegram& telegram, Passage& passage, std::uint64_t draw);
    void skip_lanes(Duration by, const std::array<std::uint64_t, 2>& telegrams);
    FaultStage::Pass past_extras(Telegram& telegram, Passage& passage);
    void overflowed(const Passage& passage);
    void befell(const Passage& passage, Fate fate) {
        if (keeps_fates_) fates_.push_back({passage.tag, fate});
    }
    void ask_quiet();

    // What each telegram asks for lies together: with many links in turn each line and page of memory counts.
    alignas(64) std::array<Lane, lane_count> lanes_;
    Quiet quiet_{~std::uint64_t{0}, proto::never};  ///< the least of all stages
    Instant untouched_before_ = proto::never;
    Carried* current_ = nullptr;  ///< given by slot(), not yet offered
    Carried* spare_ = nullptr;    ///< the slot for what is dropped since no other is free
    std::unique_ptr<History> history_;
    unsigned pending_count_ = 0;
    unsigned used_count_ = 0;       ///< slots that are not free
    std::vector<Carried*> beside_;  ///< scheduled by stages for the telegram now being offered
    /// What is on the way, sorted, the next one last; of equal ones the older is nearer the end. And from used_count_
    /// on what is free: the slot used last is used first, still in the cache.
    std::array<Place, slots> places_{};
    std::array<std::shared_ptr<const Way>, 2> ways_;
    std::unique_ptr<Carried[]> carried_;  ///< one more than slots: the spare
    std::vector<Stage> stages_;
    std::unique_ptr<std::array<Extras, lane_count>> extras_;  ///< while there are any, the channel is never quiet
    std::unique_ptr<Foresight> foresight_;
    bool keeps_fates_ = false;
    std::vector<Befallen> fates_;
    bool in_stages_ = false;
    std::unique_ptr<History> unused_history_;  ///< of the time before begin_again()
    Losses losses_;
};

// What every telegram meets stands here, so that it is compiled into the driver's loop, where link and direction are
// known; the rest is channel.cpp's.

inline void Channel::insert(Carried* carried, Instant due) {
    unsigned at = pending_count_++;
    for (; at > 0 && places_[at - 1].due <= due; --at) {
        places_[at].due = places_[at - 1].due;
        places_[at].carried = places_[at - 1].carried;
    }
    places_[at].due = due;
    places_[at].carried = carried;
}

[[gnu::always_inline]] inline void Channel::offer(Telegram& telegram, const Tag tag, Instant now) {
    Carried* const carried = current_;
    proto::require(carried != nullptr && &telegram == &carried->telegram,
                   "Channel::offer() of something else than slot()");
    proto::require(tag.of_link() < link_count && telegram.size <= proto::telegram_bytes_max,
                   "Channel::offer() of an impossible telegram");
    current_ = nullptr;
    Lane& lane = lanes_[lane_of(tag.of_link(), tag.way())];
    const Way& settings = *lane.way;
    const std::uint64_t draw = lane.offered++;

    Passage& passage = carried->passage;
    passage.tag = tag;
    passage.to_link = tag.of_link();
    passage.to_end = receiver(tag.way());
    passage.ordinal = lane.process;
    passage.sent = now;
    passage.due = now + lane.next_delay;
    lane.next_delay = settings.delay.of(lane.delays, draw + 1);
    passage.held = {};
    lane.process += tag.is_parameter() ? 0U : 1U;

    bool arrives = true;
    if (__builtin_expect(!quiet_.covers(passage.ordinal, now), 0)) {
        arrives = past_extras(telegram, passage) == FaultStage::Pass::deliver;
    } else if (__builtin_expect(history_ != nullptr, 0)) {
        // not `tag`: with its address taken it could not stay in a register
        history_->note(telegram, passage.tag, now);
    }
    if (__builtin_expect(settings.spoils, 0)) arrives = spoil(telegram, passage, draw, arrives);

    if (__builtin_expect(arrives && carried != spare_, 1)) {
        const Instant in_order = std::max(passage.due, lane.not_before);
        if (settings.keep_order) lane.not_before = in_order;
        passage.due = in_order + passage.held;
        insert(carried, passage.due);
    } else if (arrives) {
        overflowed(passage);
    } else if (carried != spare_) {
        push_free(carried);
    }
    if (__builtin_expect(!beside_.empty(), 0)) {
        for (Carried* const copy : beside_) insert(copy, copy->passage.due);
        beside_.clear();
    }
}

}  // namespace sim
