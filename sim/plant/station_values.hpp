#pragma once
// The values of one end while it runs: what its application uses, and what it sends and means by it. It knows no link:
// bytes go in and out as this end's own map has them.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

struct Scenario;
class MachineModel;
class Plant;

/// What a source says at `now`, in the smallest unit; nothing: not known yet, or nothing to look at. Requires one that
/// looks at a plant: what is passed on only its station knows.
std::optional<std::int64_t> said_by(const ValueSource& source, const MachineModel* machine, proto::Instant now);

class StationValues {
  public:
    /// Requires a scenario that the reader has accepted; it must outlive this.
    StationValues(const Scenario& scenario, End end);
    StationValues(const StationValues&) = delete;
    StationValues& operator=(const StationValues&) = delete;
    ~StationValues() = default;
    /// As it was at first.
    void begin_again();
    /// Value `value`, which is passed on from another link, is `from_value` of that link's station from now on; `from`
    /// must outlive this. Without it such a value is what permits most: a link alone is not judged as better than it
    /// is.
    void pass_on(std::size_t value, const StationValues& from, std::size_t from_value);

    /// This end sends or receives some.
    [[nodiscard]] bool any() const { return any_; }
    /// What this end sends may change without anything that it receives.
    [[nodiscard]] bool changes_by_itself() const { return changes_; }

    /// What arrived is used; substitutes while the link does not run, out of range, and of a payload of nothing but
    /// zeros, which is what an end sends that does not run.
    void use(std::span<const std::uint8_t> input, bool running);
    /// The same of an end that takes in nothing new: only what it should use is known then.
    void look_at(std::span<const std::uint8_t> input) { proper_ = read(input); }
    /// The sources are looked at, and what they say is put into the output.
    void send(const Plant& plant, bool running, std::span<std::uint8_t> output, proto::Instant now);
    /// A scan of an end that takes in nothing new: what it holds stays in use and is sent. What is told of it is true:
    /// of a value in use the one that permits more, of one that is meant the one that permits less. look_at() comes
    /// before it, at every station of the controller.
    void freeze(const Plant& plant, proto::Instant now);

    [[nodiscard]] const ValueWord& used() const { return used_; }
    [[nodiscard]] const ValueWord& meant() const { return meant_; }
    /// What is meant changed, or whether the end runs, since this was last asked; true at first.
    bool take_news(bool running);
    /// What the value allows from which the machine here takes its reduced speed, um/s; nothing if none does.
    [[nodiscard]] std::optional<std::int64_t> reduced_speed() const;

  private:
    [[nodiscard]] ValueWord read(std::span<const std::uint8_t> input) const;
    enum class Uses : bool { really, properly };
    [[nodiscard]] ValueWord looked_at(const Plant& plant, proto::Instant now, Uses uses) const;
    [[nodiscard]] std::optional<std::int64_t> passed_on(std::size_t value, Uses uses) const;

    /// Where a value that is passed on comes from; of this station unless another one is named.
    struct Source {
        std::size_t value = 0;  ///< to be passed on
        const StationValues* station = nullptr;
        std::size_t of = 0;  ///< of that station's link
        bool known = false;
    };

    bool any_ = false;
    End end_;
    const Scenario& scenario_;
    const Values& values_;
    std::vector<std::size_t> sent_, received_;
    std::vector<Source> sources_;
    std::size_t reduced_from_;  ///< of values; past the last if there is none
    bool changes_ = false;
    ValueWord none_;            ///< every value its substitute
    ValueWord used_, meant_;    ///< as they are told
    ValueWord held_, put_out_;  ///< what the application really uses, and sends
    ValueWord proper_;          ///< what it would use if it took everything in
    ValueWord told_;            ///< what take_news() saw last
    bool told_running_ = false, told_any_ = false;
};

}  // namespace sim
