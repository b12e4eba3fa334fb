#include "tools/run/part_file.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <utility>
#include <vector>

#include "tools/run/part_numbers.hpp"
#include "tools/run/part_row.hpp"

namespace tools {
namespace {

constexpr std::string_view first_line = "linkdrill part 4";
constexpr std::string_view block_end = ".\n";
constexpr std::string_view last_line = "whole\n";

void add_lateness(std::string& text, const sim::PartRecord& record) {
    for (const std::int64_t late : record.lateness_ns) add_line(text, 'l', {}, late);
}

void add_events(std::string& text, const sim::PartRecord& record) {
    for (const sim::Event& event : record.log.events) {
        const Row r = row_of(event);
        add_line(text, 'e', {}, r.kind, r.place, r.at, r.a, r.b, r.c);
    }
}

/// The lines of blocks, read in order into a record.
class Blocks {
  public:
    explicit Blocks(PartSoFar& found) : found_(found) {}

    /// False for what no block holds.
    bool read(std::string_view text) {
        while (!text.empty()) {
            const std::size_t end = text.find('\n');
            if (end == std::string_view::npos) return false;
            if (!take(text.substr(0, end))) return false;
            text.remove_prefix(end + 1);
        }
        return begun_lines_ == 0 || begun_lines_ == addresses;
    }
    /// The part's run is over.
    [[nodiscard]] bool ended() const { return ended_; }

  private:
    static constexpr std::size_t addresses = 3;

    bool take(std::string_view line) {
        if (line == ".") return true;
        if (ended_ || line.size() < 3 || line[1] != ' ') return false;
        Numbers numbers(line.substr(2));
        switch (line[0]) {
            case 'b': return take_begin(numbers);
            case 's': return take_address(numbers);
            case 'a': return take_absence(numbers);
            case 'e': return take_event(numbers);
            case 'l': return take_lateness(numbers);
            case 't': return numbers.take_hex(found_.record.telegrams) && numbers.at_end();
            case 'z': return take_end(numbers);
            default: return false;
        }
    }
    bool take_begin(Numbers& numbers) {
        sim::PartRecord& record = found_.record;
        if (found_.begun || !numbers.take(record.begun_ns) || !numbers.take(record.clock_ns)) return false;
        const std::string_view boot = numbers.rest();
        if (boot != "-") record.boot = std::string(boot);
        found_.begun = true;
        return true;
    }
    bool take_address(Numbers& numbers) {
        if (!found_.begun || begun_lines_ == addresses) return false;
        sim::PartRecord& record = found_.record;
        sim::SocketAddress& address = *std::array{&record.controller, &record.channel, &record.device}[begun_lines_++];
        unsigned kind = 0;
        std::vector<std::uint8_t> host;
        if (!numbers.take(kind) || !numbers.take(address.port) || !numbers.take_hex(host) || !numbers.at_end() ||
            host.size() != address.host.size())
            return false;
        address.six = kind == 6;
        std::copy(host.begin(), host.end(), address.host.begin());
        return true;
    }
    bool take_absence(Numbers& numbers) {
        sim::Absence absence;
        if (!numbers.take(absence.from.ns) || !numbers.take(absence.until.ns) || !numbers.at_end()) return false;
        found_.record.absences.push_back(absence);
        return true;
    }
    bool take_event(Numbers& numbers) {
        Row r;
        if (!numbers.take(r.kind) || !numbers.take(r.place) || !numbers.take(r.at) || !numbers.take(r.a) ||
            !numbers.take(r.b) || !numbers.take(r.c) || !numbers.at_end())
            return false;
        const auto event = event_of(r);
        if (event) found_.record.log.events.push_back(*event);
        return event.has_value();
    }
    bool take_lateness(Numbers& numbers) {
        std::int64_t late = 0;
        if (!numbers.take(late) || !numbers.at_end()) return false;
        found_.record.lateness_ns.push_back(late);
        return true;
    }
    bool take_end(Numbers& numbers) {
        sim::PartRecord& record = found_.record;
        proto::Counters& counters = record.shown.counters;
        unsigned state = 0, refusal = 0;
        bool read = numbers.take(record.scans) && numbers.take(state) && numbers.take(refusal);
        for (std::uint64_t* value : {&counters.received, &counters.accepted, &counters.repeats, &counters.ignored,
                                     &counters.sent, &counters.queue_full})
            read = read && numbers.take(*value);
        for (std::uint64_t& value : counters.rejected) read = read && numbers.take(value);
        if (!read || !numbers.at_end() || state > 3 || refusal >= proto::refusal_count) return false;
        record.shown.state = static_cast<proto::State>(state);
        record.shown.refusal = static_cast<proto::Refusal>(refusal);
        ended_ = true;
        return true;
    }

    PartSoFar& found_;
    std::size_t begun_lines_ = 0;
    bool ended_ = false;
};

}  // namespace

std::string part_file_name(sim::Part part, std::size_t number) {
    return "part-" + std::string(name_of(part)) + (number != 0 ? "-" + std::to_string(number) : "") + ".txt";
}

std::string part_head(const PartOf& of, sim::Part part) {
    const auto on_one_line = [](std::string text) {
        std::replace_if(
            text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
        return text;
    };
    return std::string(first_line) + "\npart " + std::string(name_of(part)) + "\nseed " + std::to_string(of.seed) +
           "\ntimes-slower " + std::to_string(of.time_scale) + "\ncontents " + of.contents + "\nscenario " +
           on_one_line(of.scenario) + (of.number != 0 ? "\nlink " + on_one_line(of.link) : "") + "\n";
}

std::string part_alive(proto::Instant at, std::uint64_t scans) {
    std::array<char, 64> line{};
    std::snprintf(line.data(), line.size(), "alive %020lld scans %020llu\n", static_cast<long long>(at.ns),
                  static_cast<unsigned long long>(scans));
    return line.data();
}

std::size_t part_alive_place(const PartOf& of, sim::Part part) { return part_head(of, part).size(); }

std::string begin_block(const sim::PartRecord& record) {
    std::string text = "b " + std::to_string(record.begun_ns) + " " + std::to_string(record.clock_ns) + " " +
                       (record.boot.empty() ? "-" : record.boot) + "\n";
    for (const sim::SocketAddress* address : {&record.controller, &record.channel, &record.device})
        add_line(text, 's', hex_of(address->host), address->six ? 6 : 4, address->port);
    return text + std::string(block_end);
}

std::string news_block(const sim::PartRecord& record) {
    std::string text;
    for (const sim::Absence& absence : record.absences) add_line(text, 'a', {}, absence.from.ns, absence.until.ns);
    add_events(text, record);
    add_lateness(text, record);
    if (!record.telegrams.empty()) add_line(text, 't', hex_of(record.telegrams));
    if (!text.empty()) text += block_end;
    return text;
}

std::string end_block(const sim::PartRecord& record) {
    const proto::Counters& counters = record.shown.counters;
    std::string rejected;
    for (const std::uint64_t value : counters.rejected) rejected += " " + std::to_string(value);
    std::string text;
    add_line(text, 'z', std::string_view(rejected).substr(1), record.scans, static_cast<unsigned>(record.shown.state),
             static_cast<unsigned>(record.shown.refusal), counters.received, counters.accepted, counters.repeats,
             counters.ignored, counters.sent, counters.queue_full);
    return text + std::string(block_end) + std::string(last_line);
}

std::string part_text(const PartOf& of, sim::Part part, const sim::PartRecord& record) {
    return part_head(of, part) + part_alive({}, record.scans) + begin_block(record) + news_block(record) +
           end_block(record);
}

std::optional<PartSoFar> part_so_far(std::string_view text, const PartOf& of, const sim::Scenario& scenario,
                                     sim::Part part) {
    const std::string head = part_head(of, part);
    const std::size_t alive_bytes = part_alive({}, 0).size();
    if (text.substr(0, head.size()) != head || text.size() < head.size() + alive_bytes) return std::nullopt;
    PartSoFar found;
    if (!read_alive(text.substr(head.size(), alive_bytes), found.alive.ns, found.record.scans)) return std::nullopt;
    std::string_view blocks = text.substr(head.size() + alive_bytes);
    const std::size_t end = blocks.rfind("\n.\n");
    const std::size_t kept = end == std::string_view::npos ? 0 : end + 3;
    found.bytes = head.size() + alive_bytes + kept;
    Blocks reading(found);
    if (!reading.read(blocks.substr(0, kept))) return std::nullopt;
    found.whole = reading.ended() && blocks.substr(kept) == last_line;
    if (!sim::can_be(scenario, part, found.record)) return std::nullopt;
    return found;
}

std::optional<sim::PartRecord> part_from(std::string_view text, const PartOf& of, const sim::Scenario& scenario,
                                         sim::Part part) {
    auto found = part_so_far(text, of, scenario, part);
    if (!found || !found->whole) return std::nullopt;
    return std::move(found->record);
}

}  // namespace tools
