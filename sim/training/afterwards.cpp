#include "sim/training/afterwards.hpp"
#include "sim/scenario/ends.hpp"

#include <algorithm>
#include <deque>

namespace sim {
namespace {

using Kind = proto::Verdict::Kind;

bool concluded_at(const Seen& seen, End end) {
    return seen.kind == Seen::Kind::arrived && seen.end == end && seen.verdict.has_value();
}

/// Around the first stop if there was one, else the latest.
std::vector<Seen> record_of(const Bench& bench) {
    const std::vector<Seen>& held = bench.recorder().around_first_stop();
    if (!held.empty()) return held;
    const std::deque<Seen>& latest = bench.recorder().latest();
    return {latest.begin(), latest.end()};
}

std::optional<std::size_t> place_of_rejected(const std::vector<Seen>& record) {
    const auto found = std::find_if(record.begin(), record.end(), [](const Seen& seen) {
        return seen.kind == Seen::Kind::arrived && seen.verdict && seen.verdict->kind == Kind::rejected;
    });
    if (found == record.end()) return std::nullopt;
    return static_cast<std::size_t>(found - record.begin());
}

const Seen* as_sent(const std::vector<Seen>& record, const Seen& arrived) {
    if (arrived.tag.link != 0) return nullptr;
    for (const Seen& seen : record)
        if (seen.kind == Seen::Kind::sent && seen.end == sender(arrived.tag.direction) &&
            seen.tag.instance == arrived.tag.instance)
            return &seen;
    return nullptr;
}

std::string bytes_of(const ExplainedField& field, const std::vector<std::uint8_t>& bytes) {
    if (!field.first_bit || *field.first_bit + field.bits > bytes.size() * 8) return {};
    const std::size_t first = *field.first_bit / 8;
    return in_hex(std::span(bytes).subspan(first, (*field.first_bit + field.bits + 7) / 8 - first));
}

/// The number that was rejected, beside what it should have been.
void expect_number(ExaminedFields& result, const TakenTelegram& telegram) {
    if (!telegram.verdict.failed.has(proto::Measure::sequence) || !result.accepted_before) return;
    for (ExplainedField& field : result.fields) {
        if (field.name != "number" || field.bytes.empty() || !telegram.number) continue;
        field.expected = "one after " + std::to_string(*result.accepted_before);
        field.found = std::to_string(*telegram.number);
    }
}

Examined examined(const Bench& bench, const std::vector<Seen>& record, std::size_t place) {
    const Seen& arrived = record[place];
    std::vector<TakenBefore> before;
    for (std::size_t i = 0; i < place; ++i)
        if (concluded_at(record[i], arrived.end))
            before.push_back({record[i].bytes, record[i].verdict->kind, record[i].number});
    TakenTelegram telegram{arrived.end, arrived.bytes, {}, *arrived.verdict, arrived.number};
    if (const Seen* const set_out = as_sent(record, arrived)) telegram.sent = set_out->bytes;
    ExaminedFields fields = examine(bench.scenario(), before, telegram);
    return {arrived, fields.accepted_before, std::move(fields.fields), std::move(fields.sent)};
}

}  // namespace

ExaminedFields examine(const Scenario& scenario, const std::vector<TakenBefore>& before,
                       const TakenTelegram& telegram) {
    ExaminedFields result;
    const CaptureSettings settings = settings_of(scenario);
    TelegramReader reader(settings);
    const Hop hop = arriving_hop(telegram.end);
    // the reader follows the numbers, and then takes the end's own word for what it made of each telegram
    for (const TakenBefore& one : before) {
        reader.concluded(0, reader.read(0, hop, one.bytes), one.kind);
        if (one.kind == Kind::fresh) result.accepted_before = one.number;
    }
    TelegramSeen seen = reader.read(0, hop, telegram.bytes);
    seen.verdict = telegram.verdict;
    result.fields = explain(reader.view(hop), seen, telegram.bytes);
    expect_number(result, telegram);
    for (const ExplainedField& field : result.fields)
        result.sent.push_back(telegram.sent.empty() ? std::string() : bytes_of(field, telegram.sent));
    return result;
}

Reasoning reasoning_of(const Bench& bench, End end) {
    const Panel panel = bench.panel(end);
    Reasoning reasoning;
    reasoning.end = end;
    reasoning.stopped = bench.first_stop(end);
    reasoning.window = panel.watchdog;
    reasoning.cause = panel.cause;
    reasoning.measure = panel.measure;
    // what an end is told later does not say why it stopped first
    if (const auto& first = bench.record().first_stops[static_cast<std::size_t>(end)]) {
        reasoning.cause = first->cause;
        reasoning.measure = first->measure;
        reasoning.window = first->watchdog;
    }
    const std::vector<Seen> record = record_of(bench);
    const Instant until = reasoning.stopped ? *reasoning.stopped : record.empty() ? bench.now() : record.back().at;
    std::optional<Instant> good;
    for (const Seen& seen : record) {
        if (!concluded_at(seen, end) || seen.at > until) continue;
        if (seen.verdict->kind == Kind::fresh) good = seen.at;
        if (seen.at + reasoning.window < until) continue;
        switch (seen.verdict->kind) {
            case Kind::fresh: ++reasoning.fresh; break;
            case Kind::repeat: ++reasoning.repeats; break;
            case Kind::rejected: ++reasoning.rejected; break;
            case Kind::ignored:
            case Kind::handshake: ++reasoning.ignored; break;
        }
        // what was rejected may carry any number
        if (!seen.number || seen.verdict->kind == Kind::handshake || seen.verdict->kind == Kind::rejected) continue;
        if (!reasoning.first_number) reasoning.first_number = seen.number;
        reasoning.last_number = seen.number;
    }
    if (good) reasoning.last_good = until - *good;
    return reasoning;
}

std::optional<Examined> first_rejected(const Bench& bench) {
    const std::vector<Seen> around = record_of(bench);
    if (const auto place = place_of_rejected(around)) return examined(bench, around, *place);
    const std::deque<Seen>& latest = bench.recorder().latest();
    const std::vector<Seen> late(latest.begin(), latest.end());
    if (const auto place = place_of_rejected(late)) return examined(bench, late, *place);
    return std::nullopt;
}

}  // namespace sim
