#include "tools/run/part_file.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <sstream>

#include "tools/run/part_row.hpp"

namespace tools {
namespace {

constexpr std::string_view first_line = "linkdrill part 3";
constexpr std::string_view last_line = "whole";

std::string head_of(const PartOf& of, sim::Part part) {
    std::string title = of.scenario;
    std::replace_if(
        title.begin(), title.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
    return std::string(first_line) + "\npart " + std::string(name_of(part)) + "\nseed " + std::to_string(of.seed) +
           "\ntimes-slower " + std::to_string(of.time_scale) + "\nscenario " + title + "\n";
}

/// "x00ff": the x is there even if there are no bytes.
std::string hex_of(std::span<const std::uint8_t> bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text = "x";
    text.reserve(bytes.size() * 2 + 1);
    for (const std::uint8_t byte : bytes) {
        text += digits[byte >> 4];
        text += digits[byte & 15U];
    }
    return text;
}

/// Reads whole numbers, one after the other, without any exception.
class Numbers {
  public:
    explicit Numbers(std::string_view text) : at_(text.data()), end_(text.data() + text.size()) {}
    template <class T>
    bool take(T& value) {
        while (at_ != end_ && (*at_ == ' ' || *at_ == '\n')) ++at_;
        const auto [stop, error] = std::from_chars(at_, end_, value);
        if (error != std::errc{}) return false;
        at_ = stop;
        return true;
    }
    /// Bytes as hex_of() writes them.
    bool take_hex(std::vector<std::uint8_t>& bytes) {
        while (at_ != end_ && (*at_ == ' ' || *at_ == '\n')) ++at_;
        if (at_ == end_ || *at_ != 'x') return false;
        ++at_;
        while (at_ != end_ && *at_ != '\n') {
            std::uint8_t byte = 0;
            if (end_ - at_ < 2 || std::from_chars(at_, at_ + 2, byte, 16).ptr != at_ + 2) return false;
            bytes.push_back(byte);
            at_ += 2;
        }
        return true;
    }
    [[nodiscard]] std::string_view rest() const { return {at_, static_cast<std::size_t>(end_ - at_)}; }

  private:
    const char* at_;
    const char* end_;
};

/// A record says how many lines follow: no more than there is text for, so that nothing is kept for lines that do not
/// come. Each takes at least so many characters.
constexpr std::uint64_t shortest_lateness = 2, shortest_event = 12;

// What part_text() writes, piece by piece: false if the text has something else there.

bool read_shown(Numbers& numbers, sim::PartRecord& record) {
    proto::Counters& counters = record.shown.counters;
    unsigned state = 0, refusal = 0;
    bool read = numbers.take(record.scans) && numbers.take(state) && numbers.take(refusal);
    for (std::uint64_t* value : {&counters.received, &counters.accepted, &counters.repeats, &counters.ignored,
                                 &counters.sent, &counters.queue_full})
        read = read && numbers.take(*value);
    for (std::uint64_t& value : counters.rejected) read = read && numbers.take(value);
    if (!read || state > 3 || refusal >= proto::refusal_count) return false;
    record.shown.state = static_cast<proto::State>(state);
    record.shown.refusal = static_cast<proto::Refusal>(refusal);
    return true;
}

bool read_lateness(Numbers& numbers, std::vector<std::int64_t>& lateness_ns) {
    std::uint64_t count = 0;
    if (!numbers.take(count) || count > numbers.rest().size() / shortest_lateness) return false;
    lateness_ns.resize(count);
    return std::all_of(lateness_ns.begin(), lateness_ns.end(), [&](std::int64_t& late) { return numbers.take(late); });
}

bool read_events(Numbers& numbers, std::vector<sim::Event>& events) {
    std::uint64_t count = 0;
    if (!numbers.take(count) || count > numbers.rest().size() / shortest_event) return false;
    for (std::uint64_t i = 0; i < count; ++i) {
        Row r;
        if (!numbers.take(r.kind) || !numbers.take(r.place) || !numbers.take(r.at) || !numbers.take(r.a) ||
            !numbers.take(r.b) || !numbers.take(r.c))
            return false;
        const auto event = event_of(r);
        if (!event) return false;
        events.push_back(*event);
    }
    return true;
}

bool read_address(Numbers& numbers, sim::SocketAddress& address) {
    unsigned kind = 0;
    std::vector<std::uint8_t> host;
    if (!numbers.take(kind) || !numbers.take(address.port) || !numbers.take_hex(host) ||
        host.size() != address.host.size())
        return false;
    address.six = kind == 6;
    std::copy(host.begin(), host.end(), address.host.begin());
    return true;
}

}  // namespace

std::string part_file_name(sim::Part part) { return "part-" + std::string(name_of(part)) + ".txt"; }

std::string part_text(const PartOf& of, sim::Part part, const sim::PartRecord& record) {
    std::string text = head_of(of, part);
    const auto number = [&text](auto value, char after) {
        std::array<char, 24> digits{};
        char* const end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
        text.append(digits.data(), end);
        text += after;
    };
    const proto::Counters& counters = record.shown.counters;
    number(record.scans, ' ');
    number(static_cast<unsigned>(record.shown.state), ' ');
    number(static_cast<unsigned>(record.shown.refusal), '\n');
    for (const std::uint64_t value :
         {counters.received, counters.accepted, counters.repeats, counters.ignored, counters.sent, counters.queue_full})
        number(value, ' ');
    for (const std::uint64_t value : counters.rejected) number(value, ' ');
    text += '\n';
    number(record.lateness_ns.size(), '\n');
    for (const std::int64_t late : record.lateness_ns) number(late, '\n');
    number(record.log.events.size(), '\n');
    for (const sim::Event& event : record.log.events) {
        const Row r = row_of(event);
        number(r.kind, ' ');
        number(r.place, ' ');
        number(r.at, ' ');
        number(r.a, ' ');
        number(r.b, ' ');
        number(r.c, '\n');
    }
    number(record.begun_ns, '\n');
    for (const sim::SocketAddress* address : {&record.controller, &record.channel, &record.device}) {
        number(address->six ? 6 : 4, ' ');
        number(address->port, ' ');
        text += hex_of(address->host) + "\n";
    }
    text += hex_of(record.telegrams) + "\n";
    text += last_line;
    text += '\n';
    return text;
}

std::optional<sim::PartRecord> part_from(const std::string& text, const PartOf& of, const sim::Scenario& scenario,
                                         sim::Part part) {
    const std::string head = head_of(of, part);
    if (text.compare(0, head.size(), head) != 0) return std::nullopt;
    Numbers numbers(std::string_view(text).substr(head.size()));
    sim::PartRecord record;
    if (!read_shown(numbers, record) || !read_lateness(numbers, record.lateness_ns) ||
        !read_events(numbers, record.log.events) || !numbers.take(record.begun_ns))
        return std::nullopt;
    for (sim::SocketAddress* address : {&record.controller, &record.channel, &record.device})
        if (!read_address(numbers, *address)) return std::nullopt;
    if (!numbers.take_hex(record.telegrams)) return std::nullopt;
    if (numbers.rest() != "\n" + std::string(last_line) + "\n") return std::nullopt;
    if (!can_be(scenario, part, record)) return std::nullopt;
    return record;
}

}  // namespace tools
