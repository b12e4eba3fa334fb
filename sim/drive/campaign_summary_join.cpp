// A campaign's summary without the rows it was made of: joined with the next, as bytes, and back.
#include <algorithm>
#include <limits>

#include "proto/contract.hpp"
#include "sim/drive/campaign_summary.hpp"
#include "sim/numeric/packed_numbers.hpp"

namespace sim {
namespace {

using Bytes = std::vector<std::uint8_t>;

constexpr std::uint64_t layout = 1;  ///< of the bytes
constexpr std::size_t why_most = 4096;

template <class Counts>
void add_each(Counts& into, const Counts& counts) {
    for (std::size_t i = 0; i < into.size(); ++i) into[i] += counts[i];
}

void keep_longer(std::optional<Duration>& longest, const std::optional<Duration>& other) {
    if (other) longest = std::max(longest.value_or(*other), *other);
}

void join_error(ErrorSummary& into, const ErrorSummary& next) {
    into.trials += next.trials;
    into.detected += next.detected;
    add_each(into.outcomes, next.outcomes);
    add_each(into.first_measure, next.first_measure);
    into.late += next.late;
    into.detect.join(next.detect);
    into.safe_state.join(next.safe_state);
    into.standstill.join(next.standstill);
    into.without_bound.join(next.without_bound);
    keep_longer(into.allowed, next.allowed);
}

/// As a number: 0 for none.
void put_time(Bytes& into, const std::optional<Duration>& time) {
    put_packed(into, time ? static_cast<std::uint64_t>(time->ns) + 1 : 0);
}

/// Takes numbers and times off bytes; stays failed once something was not there.
class Taker {
  public:
    explicit Taker(std::span<const std::uint8_t> bytes) : left_(bytes) {}

    std::uint64_t number() {
        const auto taken = take_packed(left_);
        ok_ = ok_ && taken.has_value();
        return taken.value_or(0);
    }
    void into(std::uint64_t& number_there) { number_there = number(); }
    template <class Counts>
    void into_each(Counts& counts) {
        for (auto& count : counts) into(count);
    }
    void into(std::optional<Duration>& time) {
        time.reset();
        if (const std::uint64_t ns = number(); ns > 0) time = Duration{static_cast<std::int64_t>(ns - 1)};
    }
    void into(Distribution& times) {
        auto taken = Distribution::from_bytes(left_);
        ok_ = ok_ && taken.has_value();
        if (taken) times = std::move(*taken);
    }
    void into(std::string& text) {
        const std::uint64_t size = number();
        ok_ = ok_ && size <= why_most && size <= left_.size();
        if (!ok_) return;
        text.assign(left_.begin(), left_.begin() + static_cast<std::ptrdiff_t>(size));
        left_ = left_.subspan(size);
    }
    [[nodiscard]] bool ok() const { return ok_; }
    [[nodiscard]] bool all_taken() const { return ok_ && left_.empty(); }

  private:
    std::span<const std::uint8_t> left_;
    bool ok_ = true;
};

/// The sum, if it can be told; trials are counted up to 10^12, so that any more is no count of ours.
std::optional<std::uint64_t> sum_of(std::span<const std::uint64_t> counts) {
    std::uint64_t sum = 0;
    for (const std::uint64_t count : counts) {
        if (count > std::numeric_limits<std::uint64_t>::max() - sum) return std::nullopt;
        sum += count;
    }
    return sum;
}

bool agrees(const ErrorSummary& error) {
    const auto time_counts = {error.safe_state.count(), error.standstill.count(), error.without_bound.count()};
    return sum_of(error.outcomes) == error.trials && sum_of(error.first_measure) == error.detected &&
           error.detected <= error.trials && error.late <= error.trials && error.detect.count() <= error.trials &&
           std::all_of(time_counts.begin(), time_counts.end(),
                       [&](std::uint64_t count) { return count <= error.of(Outcome::safe_state); });
}

}  // namespace

std::uint64_t CampaignSummary::add_to_digest(std::span<const DigestBlock> blocks) {
    std::uint64_t trials = 0;
    for (const DigestBlock& block : blocks) {
        digest_.add(block);
        trials += block.trials;
    }
    return trials;
}

void CampaignSummary::join(const CampaignSummary& next, std::span<const DigestBlock> blocks) {
    proto::require(next.error_of_fault_ == error_of_fault_ && next.functions_.size() == functions_.size() &&
                       next.link_of_fault_ == link_of_fault_ && next.links_.size() == links_.size(),
                   "trials of another scenario");
    for (std::size_t i = 0; i < links_.size(); ++i) {
        links_[i].trials += next.links_[i].trials;
        links_[i].late += next.links_[i].late;
        add_each(links_[i].outcomes, next.links_[i].outcomes);
    }
    for (std::size_t i = 0; i < errors_.size(); ++i) join_error(errors_[i], next.errors_[i]);
    for (std::size_t i = 0; i < functions_.size(); ++i) {
        functions_[i].met += next.functions_[i].met;
        functions_[i].not_met += next.functions_[i].not_met;
        functions_[i].not_shown += next.functions_[i].not_shown;
        keep_longer(functions_[i].worst, next.functions_[i].worst);
    }
    for (const DangerousTrial& dangerous : next.dangerous_) add(dangerous);
    trials_ += next.trials_;
    cycles_ += next.cycles_;
    exchanges_ += next.exchanges_;
    demands_ += next.demands_;
    starting_ += next.starting_;
    spurious_ += next.spurious_;
    not_started_ += next.not_started_;
    proto::require(add_to_digest(blocks) == next.trials_, "blocks of other trials than the summary's");
}

std::vector<std::uint8_t> CampaignSummary::to_bytes() {
    Bytes bytes;
    for (const std::uint64_t number : {layout, trials_, cycles_, exchanges_, demands_, starting_, spurious_,
                                       not_started_, std::uint64_t{errors_.size()}, std::uint64_t{functions_.size()}})
        put_packed(bytes, number);
    for (ErrorSummary& error : errors_) {
        for (const std::uint64_t number : {error.trials, error.detected, error.late}) put_packed(bytes, number);
        for (const std::uint64_t count : error.outcomes) put_packed(bytes, count);
        for (const std::uint64_t count : error.first_measure) put_packed(bytes, count);
        put_time(bytes, error.allowed);
        for (Distribution* times : error.times()) times->to_bytes(bytes);
    }
    for (const FunctionSummary& function : functions_) {
        for (const std::uint64_t number : {function.met, function.not_met, function.not_shown})
            put_packed(bytes, number);
        put_time(bytes, function.worst);
    }
    for (const LinkSummary& link : links_) {
        for (const std::uint64_t number : {link.trials, link.late}) put_packed(bytes, number);
        for (const std::uint64_t count : link.outcomes) put_packed(bytes, count);
    }
    put_packed(bytes, dangerous_.size());
    for (const DangerousTrial& dangerous : dangerous_) {
        put_packed(bytes, dangerous.trial);
        put_packed(bytes, dangerous.fault);
        const std::string_view why = std::string_view(dangerous.why).substr(0, why_most);
        put_packed(bytes, why.size());
        bytes.insert(bytes.end(), why.begin(), why.end());
    }
    return bytes;
}

bool CampaignSummary::from_bytes(std::span<const std::uint8_t> bytes, std::span<const DigestBlock> blocks) {
    proto::require(trials_ == 0, "bytes read into a summary that has trials");
    Taker take(bytes);
    if (take.number() != layout) return false;
    for (std::uint64_t* number : {&trials_, &cycles_, &exchanges_, &demands_, &starting_, &spurious_, &not_started_})
        take.into(*number);
    if (take.number() != errors_.size() || take.number() != functions_.size()) return false;
    for (ErrorSummary& error : errors_) {
        for (std::uint64_t* number : {&error.trials, &error.detected, &error.late}) take.into(*number);
        take.into_each(error.outcomes);
        take.into_each(error.first_measure);
        take.into(error.allowed);
        for (Distribution* times : error.times()) take.into(*times);
    }
    for (FunctionSummary& function : functions_) {
        for (std::uint64_t* number : {&function.met, &function.not_met, &function.not_shown}) take.into(*number);
        take.into(function.worst);
    }
    for (LinkSummary& link : links_) {
        for (std::uint64_t* number : {&link.trials, &link.late}) take.into(*number);
        take.into_each(link.outcomes);
    }
    const std::uint64_t listed = take.number();
    if (!take.ok() || listed > dangerous_listed_most) return false;
    for (std::uint64_t i = 0; i < listed; ++i) {
        DangerousTrial dangerous;
        take.into(dangerous.trial);
        const std::uint64_t fault = take.number();
        take.into(dangerous.why);
        if (!take.ok() || fault >= error_of_fault_.size()) return false;
        dangerous.fault = static_cast<std::uint32_t>(fault);
        dangerous_.push_back(std::move(dangerous));
    }
    if (!take.all_taken() || !agrees()) return false;
    return add_to_digest(blocks) == trials_;
}

/// Of a cell each trial struck one link, or all by the controller, and came to the same there as by its error.
bool CampaignSummary::links_agree() const {
    if (links_.empty()) return true;
    std::uint64_t late_of_links = 0;
    std::array<std::uint64_t, outcome_count> outcomes{};
    for (const LinkSummary& link : links_) {
        if (sum_of(link.outcomes) != link.trials || link.trials > trials_ || link.late > link.trials) return false;
        late_of_links += link.late;
        add_each(outcomes, link.outcomes);
    }
    if (late_of_links != late()) return false;
    for (std::size_t i = 0; i < outcomes.size(); ++i)
        if (outcomes[i] != of(static_cast<Outcome>(i))) return false;
    return true;
}

bool CampaignSummary::agrees() const {
    std::vector<std::uint64_t> of_error, dangerous;
    for (const ErrorSummary& error : errors_) {
        if (!sim::agrees(error)) return false;
        of_error.push_back(error.trials);
        dangerous.push_back(error.of(Outcome::dangerous));
    }
    if (sum_of(of_error) != trials_ || demands_ > trials_ || starting_ > trials_ || not_started_ > trials_)
        return false;
    for (const FunctionSummary& function : functions_) {
        const std::array judged{function.met, function.not_met, function.not_shown};
        if (sum_of(judged).value_or(trials_ + 1) > trials_) return false;
    }
    if (!links_agree()) return false;
    if (dangerous_.size() != std::min<std::uint64_t>(sum_of(dangerous).value_or(0), dangerous_listed_most))
        return false;
    return std::adjacent_find(dangerous_.begin(), dangerous_.end(),
                              [](const DangerousTrial& a, const DangerousTrial& b) { return a.trial >= b.trial; }) ==
           dangerous_.end();
}

}  // namespace sim
