#include "sim/desk/telegram_record.hpp"

#include <algorithm>
#include <utility>

#include "sim/desk/usual_fault.hpp"
#include "sim/desk/words.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/recorder.hpp"

namespace sim {
namespace {

constexpr std::size_t handshakes_kept = 8;  ///< a handshake has four steps, and each may be repeated

std::size_t index_of(Direction way) { return static_cast<std::size_t>(way); }
std::size_t index_of(End end) { return static_cast<std::size_t>(end); }

constexpr Direction way_to(End end) { return end == End::device ? Direction::to_device : Direction::to_controller; }

DeskFate fate_of(proto::Verdict::Kind kind) {
    switch (kind) {
        case proto::Verdict::Kind::fresh:
        case proto::Verdict::Kind::handshake: return DeskFate::accepted;
        case proto::Verdict::Kind::repeat: return DeskFate::repeated;
        case proto::Verdict::Kind::ignored: return DeskFate::ignored;
        case proto::Verdict::Kind::rejected: return DeskFate::rejected;
    }
    return DeskFate::ignored;
}

template <class Item>
void push(std::deque<Item>& items, const Item& item, std::size_t most) {
    items.push_back(item);
    if (items.size() > most) items.pop_front();
}

}  // namespace

TelegramRecord::TelegramRecord(const Scenario& scenario, std::size_t link, std::uint64_t& so_far)
    : scenario_(scenario),
      link_(link),
      so_far_(so_far),
      places_{proto::places_of(scenario.controller.link.profile, scenario.controller.link.payload_sent),
              proto::places_of(scenario.device.link.profile, scenario.device.link.payload_sent)} {}

TelegramRecord::Item TelegramRecord::made(Direction way, Instant at) {
    auto item = std::make_shared<Held>();
    item->shown.id = ++so_far_;
    item->shown.link = link_;
    item->shown.way = way;
    item->shown.made = at;
    last_[index_of(way)] = item;
    if (keeps_each_) push(each_, item, kept);
    return item;
}

void TelegramRecord::put_number(DeskTelegram& telegram) const {
    // a telegram that was turned round is read as its receiver would
    telegram.number =
        telegram.parameter ? std::nullopt : number_at(telegram.bytes, places_[index_of(telegram.way)].number);
}

void TelegramRecord::sent(const Sent& fact) {
    sending_ = made(fact.way, fact.at);
    DeskTelegram& telegram = sending_->shown;
    telegram.parameter = fact.kind == proto::Transmission::Kind::parameter;
    telegram.bytes.assign(fact.bytes.begin(), fact.bytes.end());
    telegram.sent = telegram.bytes;
    telegram.tag.instance = fact.instance & Tag::instance_max;
    telegram.tag.direction = fact.way;
    put_number(telegram);
}

void TelegramRecord::lose(Held& held, Instant now, std::string why) {
    held.shown.fate = DeskFate::lost;
    held.shown.fated = now;
    held.shown.reason = std::move(why);
}

std::string TelegramRecord::fault_words(const Tag& tag) const {
    if (tag.injection == 0 || tag.injection > scenario_.faults.size()) return "by a fault";
    return "by a fault: " + words_of(scenario_, scenario_.faults[tag.injection - 1]);
}

void TelegramRecord::befell(const Befell& fact) {
    if (sending_ == nullptr) return;
    switch (fact.fate) {
        case Fate::dropped: return lose(*sending_, fact.at, "dropped " + fault_words(fact.tag));
        case Fate::lost: return lose(*sending_, fact.at, "lost by the channel");
        case Fate::crowded_out: return lose(*sending_, fact.at, "lost: more are on the way than the channel holds");
        case Fate::touched: sending_->shown.reason = "touched " + fault_words(fact.tag); return;
        case Fate::bent: sending_->shown.reason = "bent by the channel's bit errors"; return;
    }
}

void TelegramRecord::underway(const Underway& fact) {
    Item item = sending_;
    if (fact.beside || item == nullptr) {
        item = made(way_to(fact.to), fact.at);
        item->shown.beside = true;
        item->shown.reason = "sent besides " + fault_words(fact.tag);
    }
    DeskTelegram& telegram = item->shown;
    telegram.way = way_to(fact.to);
    telegram.parameter = fact.tag.parameter;
    telegram.bytes.assign(fact.bytes.begin(), fact.bytes.end());
    telegram.due = fact.due;
    telegram.tag = fact.tag;
    put_number(telegram);
    on_the_way_.push_back(std::move(item));
}

void TelegramRecord::delivered(const Delivered& fact) {
    const auto found = std::find_if(on_the_way_.begin(), on_the_way_.end(), [&](const Item& item) {
        return item->shown.tag.token().value == fact.tag.token().value && item->shown.way == way_to(fact.to) &&
               item->shown.due <= fact.at;
    });
    if (found != on_the_way_.end()) {
        arrived_ = *found;
        on_the_way_.erase(found);
    } else {
        // brought here from another link of the cell
        arrived_ = made(way_to(fact.to), fact.at);
        arrived_->shown.beside = true;
        arrived_->shown.parameter = fact.tag.parameter;
        arrived_->shown.due = fact.at;
        arrived_->shown.tag = fact.tag;
        arrived_->shown.reason = "brought from another link " + fault_words(fact.tag);
        arrived_->shown.bytes.assign(fact.bytes.begin(), fact.bytes.end());
        put_number(arrived_->shown);
    }
    arrived_->shown.fate = DeskFate::waits;
    arrived_->shown.fated = fact.at;
    std::deque<Item>& waiting = waiting_[index_of(fact.to)];
    push(waiting, arrived_, proto::Endpoint::queue_length);
}

void TelegramRecord::unheard(const Unheard& fact, Instant now) {
    std::deque<Item>& waiting = waiting_[index_of(fact.end)];
    if (fact.why == WhyUnheard::forgotten) {
        for (const Item& item : waiting) lose(*item, now, "it still waited when the end lost its power");
        waiting.clear();
        return;
    }
    if (arrived_ == nullptr) return;
    std::erase(waiting, arrived_);
    lose(*arrived_, now,
         fact.why == WhyUnheard::queue_full ? "more came in one scan than the end holds" : "the end has no power");
}

const DeskTelegram* TelegramRecord::concluded(const Concluded& fact) {
    const std::size_t end = index_of(fact.end);
    std::deque<Item>& waiting = waiting_[end];
    const auto found = std::find_if(waiting.begin(), waiting.end(), [&](const Item& item) {
        return item->shown.tag.token().value == fact.token.value;
    });
    if (found == waiting.end()) return nullptr;
    concluded_ = *found;
    waiting.erase(found);
    Held& held = *concluded_;
    held.verdict = fact.verdict;
    held.shown.fate = fate_of(fact.verdict.kind);
    held.shown.fated = fact.at;
    held.before = handshakes_[end];
    if (accepted_[end]) held.before.push_back(accepted_[end]);
    if (fact.verdict.kind == proto::Verdict::Kind::rejected) {
        held.shown.measure = fact.verdict.failed.first();
        held.shown.reason = words_of(*held.shown.measure) + (held.shown.reason.empty() ? "" : "; " + held.shown.reason);
        push(rejected_, concluded_, kept);
        return &held.shown;
    }
    auto taken =
        std::make_shared<const TakenBefore>(TakenBefore{held.shown.bytes, fact.verdict.kind, held.shown.number});
    if (fact.verdict.kind == proto::Verdict::Kind::handshake) {
        accepted_[end].reset();
        handshakes_[end].push_back(std::move(taken));
        if (handshakes_[end].size() > handshakes_kept) handshakes_[end].erase(handshakes_[end].begin());
    } else if (fact.verdict.kind == proto::Verdict::Kind::fresh) {
        accepted_[end] = std::move(taken);
    }
    return &held.shown;
}

void TelegramRecord::begins_anew(End end) {
    handshakes_[index_of(end)].clear();
    accepted_[index_of(end)].reset();
}

void TelegramRecord::keep_each(bool each) {
    if (!each) each_.clear();
    keeps_each_ = each;
}

std::vector<TelegramRecord::Item> TelegramRecord::items() const {
    std::vector<Item> items(each_.begin(), each_.end());
    items.insert(items.end(), rejected_.begin(), rejected_.end());
    for (const Item& item : last_)
        if (item != nullptr) items.push_back(item);
    const auto earlier = [](const Item& a, const Item& b) { return a->shown.id < b->shown.id; };
    std::sort(items.begin(), items.end(), earlier);
    items.erase(std::unique(items.begin(), items.end()), items.end());
    return items;
}

std::vector<DeskTelegram> TelegramRecord::all() const {
    std::vector<DeskTelegram> all;
    for (const Item& item : items()) all.push_back(item->shown);
    return all;
}

std::optional<DeskExplained> TelegramRecord::explain(std::uint64_t id) const {
    const std::vector<Item> kept_ones = items();
    const auto found =
        std::find_if(kept_ones.begin(), kept_ones.end(), [id](const Item& item) { return item->shown.id == id; });
    if (found == kept_ones.end() || !(*found)->verdict) return std::nullopt;
    const Held& held = **found;
    const End end = receiver(held.shown.way);
    std::vector<TakenBefore> before;
    for (const auto& one : held.before) before.push_back(*one);
    const TakenTelegram taken{end, held.shown.bytes, held.shown.sent, *held.verdict, held.shown.number};
    const ExaminedFields examined = examine(scenario_, before, taken);
    DeskExplained explained{held.shown, {}, scenario_.end(end).name + ": " + words_of(*held.verdict)};
    for (std::size_t i = 0; i < examined.fields.size(); ++i) {
        const ExplainedField& field = examined.fields[i];
        explained.fields.push_back(
            {field.name, field.bytes, examined.sent[i], field.meaning,
             field.covered == ExplainedField::Covered::yes || field.covered == ExplainedField::Covered::implied,
             field.expected, field.found});
    }
    return explained;
}

}  // namespace sim
