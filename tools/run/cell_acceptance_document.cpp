// The rows of a cell's acceptance test as a document: those of one link, with the way over all links in each.
#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_checks.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "tools/run/acceptance_row.hpp"
#include "tools/run/acceptance_words.hpp"
#include "tools/run/cell_papers.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::AcceptanceAct;
using sim::End;
using sim::WholeCell;

constexpr double um_per_mm = 1000.0;
const char* const clear = "Nobody in the zone, barrier closed, measured from outside. ";

using Row = AcceptanceRow;

const sim::Machine& machine_at(const WholeCell& cell, std::size_t link) { return *cell.links[link].alone.machine; }

class Rows {
  public:
    Rows(const WholeCell& cell, const sim::CellAcceptance& study) : cell_(cell), study_(study) {}

    Value::List made() {
        signatures();
        for (const sim::CellLook& look : study_.looks) look_only(look);
        for (const sim::CellDemandAct& demand : study_.demands) demanded(demand);
        for (const sim::CellCutAct& cut : study_.cuts) pulled(cut);
        for (std::size_t i = 0; i < cell_.links.size(); ++i) acknowledged(i);
        return std::move(list_);
    }

  private:
    void add(const Row& row) {
        Value::Object made = describe(row, list_.size() + 1);
        made.push_back({"way", Value::text_or_null(row.way)});
        list_.emplace_back(std::move(made));
    }

    [[nodiscard]] const sim::Safeguard& guard(std::size_t safeguard) const {
        return cell_.links.front().alone.safeguards[safeguard];
    }
    [[nodiscard]] bool is_reset(std::size_t safeguard) const {
        return std::any_of(cell_.links.begin(), cell_.links.end(), [&](const sim::CellLink& link) {
            return sim::is_reset(link.alone, link.alone.safeguards[safeguard]);
        });
    }
    [[nodiscard]] std::string free_again(std::size_t safeguard) const {
        return guard(safeguard).name + " free again" + (is_reset(safeguard) ? " and reset" : "");
    }

    /// What one end of a link shows of a demand: what falls there as sent and as received.
    [[nodiscard]] std::string falls_at(std::size_t link, std::size_t safeguard, End end) const {
        const std::uint64_t falls = sim::falling_on_link(cell_, link, safeguard);
        std::string words;
        for (std::size_t s = 0; s < cell_.signals.size(); ++s) {
            if ((falls >> s & 1) == 0) continue;
            const sim::Signal& signal = cell_.links[link].alone.signals[s];
            words +=
                (words.empty() ? "" : ", ") + signal.name + (sim::receiver(signal.direction) == end ? " 0" : " sent 0");
        }
        return words;
    }
    [[nodiscard]] std::string controller_shows(std::size_t safeguard) const {
        std::string words = cell_.safeguards[safeguard] ? "" : guard(safeguard).name + " 0";
        for (std::size_t i = 0; i < cell_.links.size(); ++i)
            if (const std::string falls = falls_at(i, safeguard, End::controller); !falls.empty())
                words += (words.empty() ? "" : ", ") + falls;
        return words.empty() ? "nothing falls here" : words;
    }
    /// Each station by its name; those where nothing falls are not named.
    [[nodiscard]] std::string stations_show(std::size_t safeguard) const {
        std::string words;
        for (std::size_t i = 0; i < cell_.links.size(); ++i) {
            std::string shown = cell_.safeguards[safeguard] == i ? guard(safeguard).name + " 0" : "";
            if (const std::string falls = falls_at(i, safeguard, End::device); !falls.empty())
                shown += (shown.empty() ? "" : ", ") + falls;
            if (!shown.empty()) words += (words.empty() ? "" : "; ") + cell_.links[i].alone.device.name + ": " + shown;
        }
        return words.empty() ? "nothing falls at any" : words + "; nothing else at any";
    }

    /// "rope at infeed I/O > link infeed > line controller > link bridge > bridge drive > bridge"
    [[nodiscard]] std::string way_of(std::size_t machine_link, std::size_t safeguard) const {
        const std::string& name = guard(safeguard).name;
        std::string words = name + " at " + cell_.station_of_safeguard(safeguard);
        std::string last = cell_.station_of_safeguard(safeguard);
        for (const sim::WayOverLink& way : sim::way_over_links(cell_, machine_link, name))
            for (const sim::Direction hop : way.hops) {
                const sim::CellLink& link = cell_.links[way.link];
                last = link.alone.end(sim::receiver(hop)).name;
                words += " > link " + link.name + " > " + last;
            }
        return words + " > " + machine_at(cell_, machine_link).name;
    }

    void signatures() {
        Row row{.stage = "Look only",
                .act =
                    "Read at each end of each link what its maker's tool shows as checksum or signature of the safety "
                    "settings. They must be those noted in the link sheets",
                .controller = "noted",
                .device = "noted",
                .machine = "all stand still",
                .noted = true};
        for (std::size_t i = 0; i < cell_.links.size(); ++i)
            row.rehearsal += (i == 0 ? "identity of the rehearsal, which no maker's tool shows: " : ", ") +
                             cell_.links[i].name + " " +
                             (study_.signatures[i] ? sim::written_hex(*study_.signatures[i], 8)
                                                   : std::string("none, the ends as written differ"));
        add(row);
    }

    void look_only(const sim::CellLook& look) {
        Row row{.stage = "Look only",
                .act = "Every machine standing. Demand " + guard(look.safeguard).name + " at " +
                       cell_.station_of_safeguard(look.safeguard) + " with a test rod or its own actuator, alone",
                .controller = controller_shows(look.safeguard),
                .device = stations_show(look.safeguard),
                .machine = "all stand still",
                .undo = free_again(look.safeguard),
                .function = look.function,
                .safeguard = guard(look.safeguard).name};
        tell(row, look.passes);
        add(row);
    }

    void demanded(const sim::CellDemandAct& demand) {
        const auto& [act, asked, limits, seen, passes] = demand.rehearsed;
        const sim::Scenario& alone = cell_.links[demand.machine_link].alone;
        const std::size_t safeguard = alone.place_of(act.safeguard);
        const bool slow = act.speed == AcceptanceAct::Speed::reduced;
        Row row{.stage = slow ? "At reduced speed" : "At full speed",
                .act = std::string(clear) +
                       (slow ? "At reduced speed demand " + act.safeguard
                             : "At full speed, worst load and position, demand " + act.safeguard + ", ten times") +
                       ", and time the " + alone.machine->name,
                .controller = "Running on every link, " + controller_shows(safeguard),
                .device = "Running, " + stations_show(safeguard),
                .machine = alone.machine->name + " " + machine_must(alone, asked),
                .clock = "starts: " + act.safeguard + " is demanded; " + clock_stops(alone, asked),
                .reckoned = limits.reckoned,
                .undo = free_again(safeguard),
                .allowed = limits.machine_at_most,
                .by_settings = limits.by_settings,
                .rehearsed = seen.longest,
                .stands_allowed = limits.stands_at_most,
                .stands_rehearsed = seen.longest_until_stands,
                .times = slow ? 1 : measurements,
                .function = demand.function,
                .safeguard = act.safeguard,
                .way = way_of(demand.machine_link, safeguard)};
        if (asked && asked->slow_um_s != 0) row.slow_um_s = asked->slow_um_s;
        tell(row, passes);
        add(row);
    }

    void pulled(const sim::CellCutAct& cut) {
        const sim::CellLink& link = cell_.links[cut.link];
        const std::string& machine = machine_at(cell_, cut.machine_link).name;
        const bool stops = cut.must == sim::CellCutAct::Must::stop;
        Row row{.stage = "Break the link",
                .act =
                    "Nobody in the zone, barrier closed, machines running. From the cabinet outside the barrier pull "
                    "the network plug of the " +
                    link.alone.device.name + ", and " + (stops ? "time" : "watch") + " the " + machine,
                .controller = "link " + link.name + ": No good telegram in time; the other links: Running",
                .device = link.alone.device.name + ": No good telegram in time; the others: Running",
                .machine = machine + (stops ? " stops by itself" : " goes on: it does not hang on this link"),
                .undo = "plug back in, link " + link.name + " acknowledged"};
        if (stops) {
            row.clock = "starts: plug leaves; stops: " + machine +
                        (cut.slow_um_s != 0 ? " at " + speed_in_words(cut.slow_um_s) + " or less" : " at standstill");
            row.allowed = cut.allowed;
            row.rehearsed = cut.rehearsed;
            row.reckoned = !cut.reckoned.empty() ? cut.reckoned
                           : cut.allowed ? "by the settings of the links on its way, " + machine + "'s stop included"
                                         : "a link on its way has no bound";
        }
        tell(row, cut.passes);
        add(row);
    }

    void acknowledged(std::size_t i) {
        const sim::CellLink& link = cell_.links[i];
        Row row{.stage = "Break the link",
                .act = "Nobody in the zone, barrier closed. Plug of the " + link.alone.device.name +
                       " back in after the row before: press the acknowledgement of link " + link.name +
                       " once, after the request",
                .controller = "link " + link.name + ": Waits for you, then Running",
                .device = link.alone.device.name + ": Running",
                .machine = "each stays as it is until it is started"};
        row.rehearsal = "not rehearsed here: run shows that no machine moves without a start";
        add(row);
    }

    const WholeCell& cell_;
    const sim::CellAcceptance& study_;
    Value::List list_;
};

Value there_of(const std::optional<sim::GuardDistance>& distance) {
    if (!distance || !distance->there_um) return {};
    return static_cast<double>(*distance->there_um) / um_per_mm;
}

/// From which speed its distance counts, where it is to be the reduced one; the guard for which it does not first.
std::string distance_from(const WholeCell& cell, const sim::SafetyFunction& function) {
    std::string words;
    for (const sim::CellLink& link : cell.links)
        for (const sim::SafetyFunction& share : link.alone.functions) {
            if (share.name != function.name) continue;
            for (const sim::MustReact& must : share.must)
                for (const std::string& safeguard : share.safeguards) {
                    const sim::FromReduced from = sim::from_reduced(link.alone, share, must, safeguard);
                    if (from.asked && !from.counts()) return sim::in_words(from);
                    if (from.asked) words = sim::in_words(from);
                }
        }
    return words;
}

Value::List functions_of(const WholeCell& cell, const sim::CellAcceptance& study) {
    Value::List list;
    for (const sim::SafetyFunction& function : cell.functions) {
        Value::List musts;
        for (const sim::MustReact& must : function.must)
            musts.push_back(Value::Object{
                {"machine", must.machine}, {"must", sim::name_of(must.must)}, {"within_ms", Value::of(must.within)}});
        const std::optional<sim::Distance>& distance = study.function_distances[list.size()];
        Value::Object one{{"no", static_cast<std::uint64_t>(list.size() + 1)},
                          {"name", function.name},
                          {"safeguards", Value::list_of(function.safeguards)},
                          {"must", std::move(musts)},
                          {"level", function.level ? Value(written(*function.level)) : Value()},
                          {"returns", sim::name_of(function.returns)},
                          {"needed_mm", distance ? Value(sim::whole_mm_up(distance->needed)) : Value()},
                          {"there_mm", there_of(function.distance)}};
        if (const std::string from = distance_from(cell, function); !from.empty())
            one.push_back({"distance_from", from});
        list.emplace_back(std::move(one));
    }
    return list;
}

}  // namespace

Value describe_acceptance(const WholeCell& cell, const sim::CellAcceptance& study) {
    return Value::Object{{"scenario", cell.file},
                         {"seed", study.seed},
                         {"functions", functions_of(cell, study)},
                         {"rows", Rows(cell, study).made()},
                         {"stopping_ms", Value()},
                         {"needed_mm", Value()},
                         {"there_mm", Value()}};
}

}  // namespace tools
