#include "sim/scenario/own_network.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

namespace sim {
namespace {

using Kind = NetworkFinding::Kind;

/// Blocks of addresses that are not simply a station's, most of them gathered by RFC 6890.
struct Block {
    Ipv4 first;
    unsigned length;
    Kind kind;
    bool apart;
    const char* words;
};
constexpr Ipv4 quad(std::uint32_t a, std::uint32_t b, std::uint32_t c) { return {a << 24U | b << 16U | c << 8U}; }
constexpr std::array blocks{
    Block{quad(0, 0, 0), 8, Kind::problem, true,
          "begins with 0, which stands for \"this network\" (RFC 1122, 3.2.1.3)"},
    Block{quad(127, 0, 0), 8, Kind::problem, true,
          "is a loopback address, which never leaves its end (RFC 1122, 3.2.1.3)"},
    Block{quad(224, 0, 0), 4, Kind::problem, true, "is the address of a group, not of a station (RFC 5771)"},
    Block{quad(240, 0, 0), 4, Kind::problem, true, "is reserved, and stations drop it (RFC 1112, section 4; RFC 919)"},
    Block{quad(169, 254, 0), 24, Kind::problem, false,
          "is kept free at the edge of the link-local block (RFC 3927, 2.1)"},
    Block{quad(169, 254, 255), 24, Kind::problem, false,
          "is kept free at the edge of the link-local block (RFC 3927, 2.1)"},
    Block{
        quad(169, 254, 0), 16, Kind::remark, false,
        "is link-local (RFC 3927): a station that found no other address takes one by itself, and perhaps another one "
        "at the next start"},
    Block{quad(192, 0, 2), 24, Kind::remark, false, "is one for documents (RFC 5737), which no plant has"},
    Block{quad(198, 51, 100), 24, Kind::remark, false, "is one for documents (RFC 5737), which no plant has"},
    Block{quad(203, 0, 113), 24, Kind::remark, false, "is one for documents (RFC 5737), which no plant has"},
    Block{quad(100, 64, 0), 10, Kind::remark, false,
          "is of the space that carriers share (RFC 6598), not a plant's own"},
    Block{quad(198, 18, 0), 15, Kind::remark, false, "is one for measuring network devices (RFC 2544)"},
    // RFC 1918: a plant's own, nothing to say
    Block{quad(10, 0, 0), 8, Kind::remark, false, nullptr}, Block{quad(172, 16, 0), 12, Kind::remark, false, nullptr},
    Block{quad(192, 168, 0), 16, Kind::remark, false, nullptr},
    Block{quad(0, 0, 0), 0, Kind::remark, false,
          "is public: somebody in the Internet may have it, unless it is yours; a plant's own are those of RFC 1918"}};

SubnetMask mask_of(unsigned length) { return {length == 0 ? 0U : ~0U << (32U - length)}; }

class OwnFindings {
  public:
    OwnFindings(const TypedEnd& end, const NetworkTyped& typed, const TypedEnd& other,
                std::vector<NetworkFinding>& findings)
        : end_(end), typed_(typed), other_(other), findings_(findings) {}

    void add() {
        address();
        mask();
        gateway();
        looked_for();
        doubles();
        form_of_name();
    }

  private:
    void say(Kind kind, bool apart, const std::string& what, const std::string& value, const std::string& why,
             const std::string& mend) {
        const bool here = end_.link.end == End::controller;
        const std::string there;  // it is this end's alone
        findings_.push_back(
            {kind,
             apart,
             {what + " of " + end_.name, here ? value : there, here ? there : value, why, end_.name + ": " + mend}});
    }
    [[nodiscard]] std::string plan(const char* what) const { return std::string(see_the_plan) + " for " + what; }

    void address() {
        if (!typed_.ip) return;
        const Ipv4 ip = *typed_.ip;
        for (const Block& block : blocks) {
            if (!mask_of(block.length).joins(ip, block.first)) continue;
            if (block.words != nullptr)
                say(block.kind, block.apart, "IP address", written(ip), written(ip) + " " + block.words,
                    plan("a station's address"));
            break;
        }
        if (!typed_.mask || typed_.mask->has_holes()) return;
        if (const auto why = no_station_in_subnet(ip, *typed_.mask))
            say(Kind::problem, true, "IP address", written(ip), *why, plan("a station's address, or the mask"));
    }

    void mask() {
        if (!typed_.mask) return;
        if (typed_.mask->has_holes())
            return say(
                Kind::problem, true, "mask", written(*typed_.mask),
                written(*typed_.mask) + " has a 1 behind a 0, so that it is no prefix of addresses (RFC 4632, 3.1)",
                plan("a mask such as 255.255.255.0"));
        if (typed_.mask->length() == 0)
            say(Kind::problem, false, "mask", written(*typed_.mask),
                "the mask /0 takes every address there is for one of the own subnet", plan("the mask"));
    }

    /// RFC 1122, 3.3.1.2: a gateway is on a network to which the station is connected.
    void gateway() {
        if (!typed_.gateway) return;
        const Ipv4 gateway = *typed_.gateway;
        const auto wrong = [&](const std::string& why) {
            say(Kind::problem, false, "gateway", written(gateway), written(gateway) + " " + why, plan("the gateway"));
        };
        if (const NetworkTyped* far = network_of(other_); far != nullptr && far->ip == gateway && typed_.ip != gateway)
            return wrong("is the address of " + other_.name + ", and no gateway");
        if (typed_.ip == gateway) return wrong("is the end's own address: a gateway is another station");
        if (!typed_.ip || !typed_.mask || typed_.mask->has_holes()) return;
        if (!typed_.mask->joins(*typed_.ip, gateway))
            return wrong("lies outside the own subnet, so that nothing can be sent to it (RFC 1122, 3.3.1.2)");
        if (const auto why = no_station_in_subnet(gateway, *typed_.mask)) wrong("cannot be the gateway: " + *why);
    }

    /// Of an address that the other end does not state itself: what can be known without it.
    void looked_for() {
        const NetworkTyped* const far = network_of(other_);
        if (!typed_.peer_ip || !typed_.ip || (far != nullptr && far->ip)) return;
        const Ipv4 peer = *typed_.peer_ip;
        if (peer == *typed_.ip)
            return say(Kind::problem, true, "peer_ip", written(peer),
                       "it looks for " + other_.name + " at " + written(peer) + ", which is its own address",
                       plan(("the address of " + other_.name).c_str()));
        if (!typed_.mask || typed_.mask->has_holes() || typed_.gateway || typed_.mask->joins(*typed_.ip, peer)) return;
        say(Kind::problem, true, "peer_ip", written(peer),
            "it looks for " + other_.name + " at " + written(peer) +
                ", outside its own subnet, and no gateway is typed",
            plan(("the address of " + other_.name + ", or the gateway").c_str()));
    }

    void doubles() {
        const AroundEnd& around = *end_.around;
        if (!around.ip_also_at.empty())
            say(Kind::problem, true, "IP address", written(*typed_.ip),
                around.ip_also_at + " has the same address, so that either may take what is for the other (RFC 5227)",
                plan("an address of its own"));
        if (!around.station_also_at.empty())
            say(Kind::problem, true, "station name", *typed_.station,
                around.station_also_at + " has the same name, so that either may answer to it",
                plan("a name of its own"));
    }

    /// One form that a name may have, that of RFC 952 as RFC 1123, 2.1 has it; others are other tools' own.
    void form_of_name() {
        if (!typed_.station) return;
        const std::string& name = *typed_.station;
        constexpr std::size_t label_most = 63, name_most = 253;
        bool is_one = name.size() <= name_most;
        for (std::size_t begin = 0; begin <= name.size() && is_one;) {
            const std::size_t end = std::min(name.find('.', begin), name.size());
            const std::string label = name.substr(begin, end - begin);
            is_one = !label.empty() && label.size() <= label_most && label.front() != '-' && label.back() != '-' &&
                     std::all_of(label.begin(), label.end(), [](char c) {
                         return c == '-' || (static_cast<unsigned char>(c) < 0x80 &&
                                             std::isalnum(static_cast<unsigned char>(c)) != 0);
                     });
            begin = end + 1;
        }
        if (is_one) return;
        say(Kind::remark, false, "station name", name,
            "\"" + name +
                "\" has not the form of a host's name (letters, digits, hyphens within, dots between: RFC 952, "
                "RFC 1123, 2.1); some tools take no other",
            "see what its tool takes");
    }

    const TypedEnd& end_;
    const NetworkTyped& typed_;
    const TypedEnd& other_;
    std::vector<NetworkFinding>& findings_;
};

}  // namespace

std::optional<std::string> no_station_in_subnet(Ipv4 ip, SubnetMask mask) {
    // RFC 3021: a subnet of two addresses has two stations; and one of a single address just that
    constexpr unsigned longest_with_both = 30;
    if (mask.length() > longest_with_both) return std::nullopt;
    const std::uint32_t host = ip.bits & ~mask.bits;
    const std::string of = " of its subnet " + written(Ipv4{ip.bits & mask.bits}) + "/" +
                           std::to_string(mask.length()) + " (RFC 1122, 3.2.1.3)";
    if (host == 0) return written(ip) + " is the network address" + of;
    if (host == ~mask.bits) return written(ip) + " is the broadcast address" + of;
    return std::nullopt;
}

bool is_link_local(Ipv4 address) { return mask_of(16).joins(address, quad(169, 254, 0)); }

bool gateway_fits(const NetworkTyped& typed) {
    return typed.gateway && typed.gateway != typed.ip && typed.mask->joins(*typed.ip, *typed.gateway) &&
           !no_station_in_subnet(*typed.gateway, *typed.mask);
}

void add_own_findings(const TypedEnd& end, const TypedEnd& other, std::vector<NetworkFinding>& findings) {
    if (const NetworkTyped* typed = network_of(end)) OwnFindings(end, *typed, other, findings).add();
}

}  // namespace sim
