#pragma once
// Whether the telegrams of one end can reach the other, as far as what is typed of network and module tells, and what
// else is wrong or unusual there. Sources stand beside each rule in reach.cpp.
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace sim {

struct Scenario;
struct WholeCell;

/// What both ends show of a link whose telegrams do not arrive.
inline constexpr const char* no_answer_shown = "No answer since start; every counter of what arrives at 0";

/// The setting that keeps two ends apart.
struct KeptApart {
    std::string setting;             ///< "mask of table I/O"
    std::string controller, device;  ///< what it is there; empty: it is a matter of the other end alone
    std::string why;                 ///< in words, without a full stop
    std::string mend;                ///< "name of the end: value to type"
    bool arrives = false;            ///< telegrams would arrive, and the device takes none of them
};

struct NetworkFinding {
    enum class Kind : std::uint8_t {
        problem,       ///< wrong
        difference,    ///< the ends must have the same, and have not
        remark,        ///< a person should know it; nothing is wrong
        not_compared,  ///< what would have to be compared is typed at one end only, or can be told by nobody here
    };
    Kind kind = Kind::problem;
    bool apart = false;  ///< it keeps the ends apart
    KeptApart what;      ///< of a remark and of what is not compared only `why`
};

/// A setting that both ends state.
struct NetworkCompared {
    std::string setting, controller, device;
};

struct NetworkReport {
    std::vector<NetworkCompared> compared;
    std::vector<NetworkFinding> findings;  ///< in the order in which a person would mend them
};

/// Nothing where neither end has any of it.
NetworkReport network_report(const Scenario& scenario);

/// The first that keeps the ends apart.
std::optional<KeptApart> kept_apart(const Scenario& scenario);
/// Of any link of the cell, with the place of that link.
std::optional<std::pair<std::size_t, KeptApart>> kept_apart(const WholeCell& cell);

/// "the ends cannot reach each other (mask of table I/O): why; mend: ...", or "the link never starts (module): ...",
/// for one line. `link`: its name, of a cell.
std::string in_words(const KeptApart& apart, const std::string& link = {});

/// How two names that should be one differ, and in what: "by case only", "in character 4: "l" and "I"". Requires names
/// that differ.
std::string how_names_differ(const std::string& a, const std::string& b);

}  // namespace sim
