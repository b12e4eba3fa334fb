// What was done at a desk, as the tables of a file.
#include <algorithm>
#include <array>
#include <charconv>

#include "sim/desk/desk_run.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

std::string quoted(std::string_view text) {
    std::string out = "\"";
    for (const char c : text) {
        const auto code = static_cast<unsigned char>(c);
        if (code < 0x20 || code == 0x7F) {
            constexpr std::string_view digits = "0123456789ABCDEF";
            out += std::string("\\u00") + digits[code >> 4] + digits[code & 0xF];
            continue;
        }
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out + '"';
}

/// A table of the file, key by key.
class Table {
  public:
    explicit Table(std::string_view name) : text_("[[" + std::string(name) + "]]\n") {}
    void put(std::string_view key, std::string_view value) { raw(key, quoted(value)); }
    void put(std::string_view key, Duration value) { put(key, written(value)); }
    void raw(std::string_view key, std::string_view value) {
        text_ += std::string(key) + " = " + std::string(value) + "\n";
    }
    [[nodiscard]] const std::string& text() const { return text_; }

  private:
    std::string text_;
};

std::string_view name_of_field(TelegramField field) {
    constexpr std::array<std::string_view, 6> names{"whole", "status", "address", "sequence", "payload", "crc"};
    return names[static_cast<std::size_t>(field)];
}

std::string number(double value) {
    std::array<char, 32> room{};
    const auto end = std::to_chars(room.data(), room.data() + room.size(), value).ptr;
    return {room.data(), end};
}

void put_what(Table& table, const Fault& fault) {
    const auto put_field = [&] {
        if (fault.field != TelegramField::whole) table.put("field", name_of_field(fault.field));
    };
    switch (fault.way) {
        case FaultWay::flip_bits: {
            std::string bits;
            for (const unsigned bit : fault.bits) bits += (bits.empty() ? "" : ", ") + std::to_string(bit);
            table.raw("bits", "[" + bits + "]");
            return;
        }
        case FaultWay::random_bits: table.raw("count", std::to_string(fault.count)); return put_field();
        case FaultWay::truncate: table.raw("count", std::to_string(fault.count)); return;
        case FaultWay::burst: table.raw("length", std::to_string(fault.length)); return put_field();
        case FaultWay::bit_rate: table.raw("rate", number(fault.rate)); return put_field();
        case FaultWay::beside:
        case FaultWay::instead: table.raw("back", std::to_string(fault.back)); return;
        case FaultWay::hold: table.put("hold", fault.hold); return;
        case FaultWay::step:
        case FaultWay::creeping:
            table.put("extra", fault.extra);
            if (!fault.keep_order) table.raw("keep_order", "false");
            return;
        case FaultWay::clock_drift: table.raw("drift_ppm", std::to_string(fault.drift_ppm)); return;
        default: return;
    }
}

/// `link`: its name in a file with several; empty: it names none.
std::string fault_table(const Fault& fault, const std::string& link) {
    Table table("fault");
    if (!link.empty()) table.put("link", link);
    if (fault.error != ErrorKind::none) table.put("error", name_of(fault.error));
    table.put("way", name_of(fault.way));
    put_what(table, fault);
    if (fault.at_end) table.put("at_end", *fault.at_end == End::controller ? "controller" : "device");
    table.put("at", *fault.at);
    if (fault.times) table.raw("times", std::to_string(*fault.times));
    if (fault.lasting) table.put("lasting", *fault.lasting);
    if (fault.every != 1) table.raw("every", std::to_string(fault.every));
    if (!fault.at_end)
        table.put("direction", !fault.to_controller ? "to-device" : !fault.to_device ? "to-controller" : "both");
    return table.text();
}

/// As it stands in a file that is kept up to then.
Fault kept_fault(const DeskPutIn& put_in, Instant until) {
    Fault fault = put_in.fault;
    fault.at = *put_in.begins - Instant{};
    if (put_in.open) fault.lasting = until - *put_in.begins;
    return fault;
}

/// In the order in which they begin: by their places in a file they draw, so what is left out are the last ones.
std::vector<const DeskPutIn*> kept_faults(const DeskRun& run) {
    std::vector<const DeskPutIn*> kept, to_come;
    for (const DeskPutIn& one : run.put_in_) {
        if (run.first_stop_ && one.begins && *one.begins >= *run.first_stop_) continue;
        if (!one.places.empty())
            kept.push_back(&one);
        else if (one.begins && !one.out)
            to_come.push_back(&one);
    }
    const auto earlier = [](const DeskPutIn* a, const DeskPutIn* b) { return *a->begins < *b->begins; };
    std::stable_sort(kept.begin(), kept.end(), earlier);
    std::stable_sort(to_come.begin(), to_come.end(), earlier);
    kept.insert(kept.end(), to_come.begin(), to_come.end());
    return kept;
}

std::string operator_table(const DeskOperator& one, const DeskRun& run) {
    const OperatorAct& act = one.act;
    Table table("operator");
    table.put("at", act.after);
    switch (act.act) {
        case OperatorAct::Act::acknowledge:
            table.put("does", "acknowledge");
            if (run.several_) table.put("link", one.link ? run.links_[*one.link]->name : std::string("all"));
            break;
        case OperatorAct::Act::start_machine:
            table.put("does", "start-machine");
            if (run.several_) table.put("machine", run.links_[*one.link]->scenario.machine->name);
            break;
        case OperatorAct::Act::reset:
            table.put("does", "reset");
            table.put("safeguard", act.safeguard);
            break;
        case OperatorAct::Act::select_mode:
            table.put("does", "select-mode");
            table.put("mode", act.mode);
            break;
        case OperatorAct::Act::hold_acknowledge:
        case OperatorAct::Act::hold_reset: break;  // nobody does so at a desk
    }
    return table.text();
}

}  // namespace

Instant DeskBench::kept_until() const { return run_->first_stop_.value_or(run_->now()); }

std::string DeskBench::kept_blocks() const {
    const DeskRun& run = *run_;
    const Instant until = kept_until();
    std::vector<std::string> tables;
    const Scenario& first = run.links_.front()->scenario;
    for (const DeskDemand& demand : run.demands_) {
        if (demand.at >= until) continue;
        Table table("demand");
        table.put("safeguard", first.safeguards[demand.guard].name);
        table.put("at", demand.at - Instant{});
        table.put("lasting", demand.held ? until - demand.at : first.demands[demand.demand].lasting);
        tables.push_back(table.text());
    }
    for (const DeskOperator& one : run.operated_)
        if (Instant{} + one.act.after < until) tables.push_back(operator_table(one, run));
    for (const DeskPutIn* one : kept_faults(run)) {
        const bool of_all = run.several_ && one->fault.at_end == End::controller;
        tables.push_back(fault_table(kept_fault(*one, until), of_all ? std::string() : run.links_[one->link]->name));
    }
    std::string text;
    for (const std::string& table : tables) text += (text.empty() ? "" : "\n") + table;
    return text;
}

Duration DeskBench::kept_duration() const {
    const DeskRun& run = *run_;
    const Instant until = kept_until();
    Instant end = until;
    Duration after = proto::seconds(2);
    for (const auto& link : run.links_) {
        const Scenario& scenario = link->scenario;
        after = std::max(after, std::max(scenario.controller.link.watchdog, scenario.device.link.watchdog) * 4);
        for (const Safeguard& guard : scenario.safeguards)
            after = std::max(after, guard.delay + std::max(guard.minimum_hold, least_hold(scenario, guard.at)) * 2);
        if (!scenario.machine) continue;
        for (const MachineReaction& reaction : scenario.machine->reactions)
            after = std::max(after, MachineModel::stopping_time(*scenario.machine, reaction.stop) + proto::seconds(1));
    }
    for (const DeskDemand& demand : run.demands_)
        if (!demand.held && demand.at < until) end = std::max(end, demand.closes);
    for (const DeskPutIn* one : kept_faults(run)) {
        const Fault fault = kept_fault(*one, until);
        const Instant begins = Instant{} + *fault.at;
        end = std::max(end, begins + fault.lasting.value_or(Duration{}));
        // a file allows no longer delay than the run itself
        after = std::max({after, fault.hold, fault.extra});
    }
    constexpr std::int64_t second = 1'000'000'000;
    const std::int64_t ns = (end + after).ns;
    return Duration{(ns + second - 1) / second * second};
}

}  // namespace sim
