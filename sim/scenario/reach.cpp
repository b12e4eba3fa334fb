#include "sim/scenario/reach.hpp"

#include <algorithm>
#include <cctype>

#include "sim/scenario/network.hpp"
#include "sim/scenario/own_network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

using Kind = NetworkFinding::Kind;
constexpr const char* not_typed = "not typed";

std::string subnet_of(const NetworkTyped& typed) {
    return written(Ipv4{typed.ip->bits & typed.mask->bits}) + "/" + std::to_string(typed.mask->length());
}

/// How an end would send to the other one.
enum class Way : std::uint8_t { unknown, direct, by_gateway, none };

/// RFC 1122, 3.3.1.1: what is in the own subnet is sent to directly, all else to a gateway in it.
Way way_from(const NetworkTyped* typed, const std::optional<Ipv4>& to) {
    if (typed == nullptr || !typed->ip || !typed->mask || typed->mask->has_holes() || !to) return Way::unknown;
    if (typed->mask->joins(*typed->ip, *to)) return Way::direct;
    if (is_link_local(*typed->ip) != is_link_local(*to)) return Way::none;
    return gateway_fits(*typed) ? Way::by_gateway : Way::none;
}

class Reaching {
  public:
    Reaching(const Scenario& scenario, NetworkReport& report)
        : c_(scenario.controller),
          d_(scenario.device),
          at_c_(network_of(c_)),
          at_d_(network_of(d_)),
          fit_c_(fitted_of(c_)),
          fit_d_(fitted_of(d_)),
          report_(report) {}

    void compare() {
        if (at_c_ != nullptr || at_d_ != nullptr) compare_network();
        if (fit_c_ != nullptr || fit_d_ != nullptr) compare_fitted();
    }

  private:
    void say(Kind kind, bool apart, KeptApart what) { report_.findings.push_back({kind, apart, std::move(what)}); }
    void not_compared(const std::string& why) { say(Kind::not_compared, false, {{}, {}, {}, why, {}}); }
    void row(const std::string& setting, const std::string& controller, const std::string& device) {
        report_.compared.push_back({setting, controller, device});
    }

    // ---- network ----

    void compare_network() {
        add_own_findings(c_, d_, report_.findings);
        add_own_findings(d_, c_, report_.findings);
        if (at_c_ == nullptr || at_d_ == nullptr) {
            const std::string& lacks = (at_c_ == nullptr ? c_ : d_).name;
            return not_compared("network settings are typed at " + (at_c_ == nullptr ? d_ : c_).name +
                                " only and none at " + lacks + ": whether the ends reach each other is not known");
        }
        twice();
        beliefs();
        ways();
    }

    void twice() {
        if (at_c_->ip && at_c_->ip == at_d_->ip) {
            const std::string ip = written(*at_c_->ip);
            say(Kind::problem, true,
                {"IP address", ip, ip, "both ends have " + ip + ", so that neither sends to the other (RFC 5227)",
                 std::string(see_the_plan) + " which end has it, and give the other one its own"});
        }
        if (at_c_->station && at_c_->station == at_d_->station)
            say(Kind::problem, at_c_->peer_station == at_c_->station || at_d_->peer_station == at_d_->station,
                {"station name", *at_c_->station, *at_d_->station,
                 "both ends are called \"" + *at_c_->station + "\", so that either may answer to it",
                 std::string(see_the_plan) + " which end is called so, and give the other one a name of its own"});
    }

    /// What one end believes of the other, beside what that one has.
    template <class T, class Written>
    void belief(const char* what, const TypedEnd& own, const std::optional<T>& is, const std::optional<T>& believed,
                const std::string& key, Written in_text, const auto& how) {
        const TypedEnd& other = &own == &c_ ? d_ : c_;
        const std::string setting = std::string(what) + " of " + own.name;
        if (is.has_value() != believed.has_value()) {
            if (believed)
                not_compared("the " + setting + " is typed at " + other.name + " as " + in_text(*believed) +
                             ", and not at " + own.name + " itself");
            return;
        }
        if (!is) return;
        const bool here = &own == &c_;
        const std::string true_one = in_text(*is), other_one = in_text(*believed);
        row(setting, here ? true_one : other_one, here ? other_one : true_one);
        if (is == believed) return;
        const bool wrong = std::any_of(report_.findings.begin(), report_.findings.end(), [&](const NetworkFinding& f) {
            return f.kind == Kind::problem && f.what.setting.starts_with(what);
        });
        say(Kind::problem, true,
            {setting, here ? true_one : other_one, here ? other_one : true_one,
             own.name + " has " + true_one + ", and " + other.name + " looks for it as " + other_one +
                 how(*is, *believed),
             wrong ? std::string(see_the_plan)
                   : "see the network plan which is meant, " + true_one + " or " + other_one + ", and type it at " +
                         own.name + " and as " + key + " at " + other.name});
    }

    void beliefs() {
        const auto address = [](Ipv4 ip) { return written(ip); };
        const auto quoted = [](const std::string& name) { return "\"" + name + "\""; };
        for (const bool of_controller : {true, false}) {
            const TypedEnd& own = of_controller ? c_ : d_;
            const NetworkTyped &its = of_controller ? *at_c_ : *at_d_, &others = of_controller ? *at_d_ : *at_c_;
            belief("IP address", own, its.ip, others.peer_ip, "network.peer_ip", address, [&](Ipv4, Ipv4 believed) {
                return std::string(others.ip == believed ? ", which is its own address" : "");
            });
            belief("station name", own, its.station, others.peer_station, "network.peer_station", quoted,
                   [&](const std::string& is, const std::string& believed) {
                       return ": they differ " + how_names_differ(is, believed);
                   });
            if (!others.peer_ip && !others.peer_station && (its.ip || its.station))
                not_compared("what " + (of_controller ? d_ : c_).name + " believes of " + own.name +
                             " is not typed (peer_ip, peer_station)");
        }
    }

    void ways() {
        for (const auto& [end, typed] : {std::pair{&c_, at_c_}, {&d_, at_d_}})
            if (!typed->ip || !typed->mask)
                not_compared(std::string("no ") +
                             (typed->ip     ? "mask"
                              : typed->mask ? "ip"
                                            : "ip and mask") +
                             " is typed at " + end->name + ": which stations are in its subnet is not known");
        const Way out = way_from(at_c_, at_d_->ip ? at_d_->ip : at_c_->peer_ip);
        const Way back = way_from(at_d_, at_c_->ip ? at_c_->ip : at_d_->peer_ip);
        const bool both_known = out != Way::unknown && back != Way::unknown;
        if (out == Way::none) return no_way(c_, *at_c_, d_, at_d_);
        if (back == Way::none) return no_way(d_, *at_d_, c_, at_c_);
        if (!both_known) return;
        if (out == Way::by_gateway && back == Way::by_gateway)
            return not_compared(
                "the ends are in different subnets, " + subnet_of(*at_c_) + " and " + subnet_of(*at_d_) +
                ", each with a gateway that it can send to: whether these pass telegrams on, and how soon, "
                "nothing here can tell");
        row("subnet", subnet_of(*at_c_), subnet_of(*at_d_));
        if (subnet_of(*at_c_) == subnet_of(*at_d_)) return;
        const std::string hangs =
            out == back ? "" : ", and one of them sends over its gateway what the other one sends directly";
        say(Kind::difference, false,
            {"subnet", subnet_of(*at_c_), subnet_of(*at_d_), "the masks differ" + hangs,
             std::string(see_the_plan) + " for the mask, and type the same at both ends"});
    }

    /// `end` cannot send to the other one.
    void no_way(const TypedEnd& end, const NetworkTyped& typed, const TypedEnd& other, const NetworkTyped* far) {
        const bool here = &end == &c_;
        const auto put = [&](const std::string& setting, const std::string& own, const std::string& others,
                             const std::string& why, const std::string& mend) {
            say(Kind::problem, true, {setting, here ? own : others, here ? others : own, why, mend});
        };
        const Ipv4 to = far->ip ? *far->ip : *typed.peer_ip;
        const std::string outside =
            written(to) + " of " + other.name + " is not in the subnet " + subnet_of(typed) + " of " + end.name;
        const std::string others_mask = far->mask ? written(*far->mask) : not_typed;
        if (far->ip && far->mask && !far->mask->has_holes()) row_of_subnets();
        if (is_link_local(*typed.ip) != is_link_local(to))
            return put("IP address", written(*typed.ip), written(to),
                       "one of the two is link-local, and no gateway passes that on (RFC 3927, 2.7)",
                       std::string(see_the_plan) + " for addresses of one kind");
        const bool others_mask_fits = far->mask && !far->mask->has_holes() && far->mask->length() != 0 &&
                                      far->mask->joins(*typed.ip, to) && !no_station_in_subnet(*typed.ip, *far->mask) &&
                                      !no_station_in_subnet(to, *far->mask);
        if (others_mask_fits)
            return put(
                "mask of " + end.name, written(*typed.mask), others_mask,
                outside + (typed.gateway ? ", and the gateway there cannot help" : ", and no gateway is typed there"),
                end.name + ": " + written(Ipv4{far->mask->bits}) + ", as at " + other.name);
        if (typed.gateway)
            return put("gateway of " + end.name, written(*typed.gateway),
                       far->gateway ? written(*far->gateway) : std::string(not_typed),
                       outside + ", and the gateway there cannot help",
                       std::string(see_the_plan) + " for a gateway within " + subnet_of(typed));
        const std::string others_subnet =
            far->ip && far->mask && !far->mask->has_holes() ? subnet_of(*far) : written(to);
        put("subnet", subnet_of(typed), others_subnet, outside + ", and no gateway is typed there",
            std::string(see_the_plan) + ": addresses and masks of one subnet, or a gateway at each end");
    }

    void row_of_subnets() {
        if (at_c_->ip && at_c_->mask && !at_c_->mask->has_holes() && at_d_->ip && at_d_->mask &&
            !at_d_->mask->has_holes())
            row("subnet", subnet_of(*at_c_), subnet_of(*at_d_));
    }

    // ---- module and firmware ----

    void compare_fitted() {
        static const FittedTyped none;
        const FittedTyped &c = fit_c_ != nullptr ? *fit_c_ : none, &d = fit_d_ != nullptr ? *fit_d_ : none;
        const auto slot = [](const FittedTyped& f) {
            return f.slot ? std::optional(std::to_string(*f.slot)) : std::nullopt;
        };
        // common practice, no standard: a device takes no parameters for a module that it has not
        // a path to the same file is the same module
        const auto module = [](const FittedTyped& f) { return f.layout ? std::optional(f.layout->name) : f.module; };
        alike("module", module(c), module(d));
        if (c.layout && d.layout && c.layout->name == d.layout->name && *c.layout != *d.layout)
            say(Kind::problem, false,
                {"module", *c.module, *d.module,
                 "the two files that are called " + c.layout->name + " differ in lengths or fields",
                 "see the design which file is right, and name that one at both ends"});
        alike("slot", slot(c), slot(d));
        for (const TypedEnd* end : {&c_, &d_}) lengths(*end);
        stated("firmware", c_, c.firmware, d.peer_firmware);
        stated("firmware", d_, d.firmware, c.peer_firmware);
        stated("checksum", c_, c.checksum, d.peer_checksum);
        stated("checksum", d_, d.checksum, c.peer_checksum);
    }

    void alike(const std::string& what, const std::optional<std::string>& controller,
               const std::optional<std::string>& device) {
        if (!controller && !device) return;
        if (!controller || !device)
            return not_compared(what + " is typed at " + (controller ? c_ : d_).name +
                                " only: " + (controller ? *controller : *device));
        row(what, *controller, *device);
        if (controller == device) return;
        say(Kind::difference, true,
            {what, *controller, *device,
             "a device takes no parameters for a " + what + " that it has not (common practice)",
             "see the design which " + what + " is fitted, then type the same at the other end", true});
    }

    void lengths(const TypedEnd& end) {
        const FittedTyped* const fitted = fitted_of(end);
        if (fitted == nullptr || !fitted->layout) return;
        const bool controller = end.link.end == End::controller;
        for (const Direction way : {Direction::to_device, Direction::to_controller}) {
            const bool sends = sender(way) == end.link.end;
            const unsigned typed = sends ? end.link.payload_sent : end.link.payload_received;
            const unsigned has =
                way == Direction::to_device ? fitted->layout->to_device : fitted->layout->to_controller;
            if (typed == has) continue;
            const auto bytes = [](unsigned count) { return std::to_string(count) + (count == 1 ? " byte" : " bytes"); };
            const std::string to = (way == Direction::to_device ? d_ : c_).name, there;
            say(Kind::problem, true,
                {"payload to " + to, controller ? bytes(typed) : there, controller ? there : bytes(typed),
                 "module " + fitted->layout->name + " at " + end.name + " has " + bytes(has) + " to " + to + ", and " +
                     bytes(typed) + " are typed there",
                 "see the design for the module, or " + end.name + ": payload_to_" +
                     (way == Direction::to_device ? "device " : "controller ") + std::to_string(has) +
                     ", and the same at the other end",
                 true});
        }
    }

    void stated(const std::string& what, const TypedEnd& own, const std::optional<std::string>& is,
                const std::optional<std::string>& believed) {
        const TypedEnd& other = &own == &c_ ? d_ : c_;
        if (!believed) return;
        if (!is) return not_compared(what + " of " + own.name + " is typed at " + other.name + " only: " + *believed);
        const bool here = &own == &c_;
        row(what + " of " + own.name, here ? *is : *believed, here ? *believed : *is);
        if (is == believed) return;
        say(Kind::difference, false,
            {what + " of " + own.name, here ? *is : *believed, here ? *believed : *is,
             "no link compares it, and what another one does is not rehearsed",
             "see the release which one is right: load it at " + own.name + ", or type it at " + other.name});
    }

    const TypedEnd &c_, &d_;
    const NetworkTyped *at_c_, *at_d_;
    const FittedTyped *fit_c_, *fit_d_;
    NetworkReport& report_;
};

/// Where each character of UTF-8 begins.
std::vector<std::string> characters_of(const std::string& text) {
    std::vector<std::string> all;
    for (const char c : text) {
        const bool goes_on = (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
        if (goes_on && !all.empty())
            all.back() += c;
        else
            all.emplace_back(1, c);
    }
    return all;
}

std::string changed(const std::string& text, bool without_blanks, bool in_lower_case) {
    std::string out;
    for (const char c : text) {
        if (without_blanks && (c == ' ' || c == '\t')) continue;
        out += in_lower_case ? static_cast<char>(std::tolower(static_cast<unsigned char>(c))) : c;
    }
    return out;
}

}  // namespace

std::string how_names_differ(const std::string& a, const std::string& b) {
    // RFC 4343 lets names of hosts differ by case; whether a tool does is its own affair
    if (changed(a, false, true) == changed(b, false, true)) return "by case only";
    if (changed(a, true, false) == changed(b, true, false)) return "by a blank only";
    const std::vector<std::string> left = characters_of(a), right = characters_of(b);
    const auto [l, r] = std::mismatch(left.begin(), left.end(), right.begin(), right.end());
    if (left.size() != right.size())
        return "in length, " + std::to_string(left.size()) + " and " + std::to_string(right.size()) +
               " characters, from character " + std::to_string(l - left.begin() + 1) + " on";
    return "in character " + std::to_string(l - left.begin() + 1) + ", \"" + *l + "\" and \"" + *r + "\"";
}

NetworkReport network_report(const Scenario& scenario) {
    NetworkReport report;
    if (scenario.controller.around || scenario.device.around) Reaching(scenario, report).compare();
    return report;
}

std::optional<KeptApart> kept_apart(const Scenario& scenario) {
    if (!scenario.controller.around && !scenario.device.around) return std::nullopt;
    for (NetworkFinding& finding : network_report(scenario).findings)
        if (finding.apart) return std::move(finding.what);
    return std::nullopt;
}

std::optional<std::pair<std::size_t, KeptApart>> kept_apart(const WholeCell& cell) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        if (auto apart = kept_apart(cell.links[i].alone)) return std::pair(i, *std::move(apart));
    return std::nullopt;
}

std::string in_words(const KeptApart& apart, const std::string& link) {
    const std::string what = apart.arrives
                                 ? "the link" + (link.empty() ? "" : " " + link) + " never starts"
                                 : "the ends" + (link.empty() ? "" : " of link " + link) + " cannot reach each other";
    return what + " (" + apart.setting + "): " + apart.why + "; mend: " + apart.mend;
}

}  // namespace sim
