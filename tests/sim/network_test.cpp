// What is typed of network and module at the two ends: which of it keeps them apart, what a rehearsal then shows, and
// what check says. Each rule has the case beside it in which just that is right.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/reach.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_check.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using sim::AroundEnd;
using sim::NetworkFinding;
using Kind = NetworkFinding::Kind;

AroundEnd at(const char* ip, const char* mask, const char* gateway = nullptr) {
    AroundEnd around;
    around.network.ip = sim::ipv4_from(ip);
    around.network.mask = sim::mask_from(mask);
    REQUIRE(around.network.ip);
    REQUIRE(around.network.mask);
    if (gateway != nullptr) around.network.gateway = sim::ipv4_from(gateway);
    return around;
}

sim::Scenario link_of(const std::optional<AroundEnd>& controller, const std::optional<AroundEnd>& device) {
    sim::Scenario s = tests::polled_link();
    if (controller) s.controller.around = std::make_shared<const AroundEnd>(*controller);
    if (device) s.device.around = std::make_shared<const AroundEnd>(*device);
    return s;
}

std::string apart(const AroundEnd& controller, const AroundEnd& device) {
    const auto found = sim::kept_apart(link_of(controller, device));
    return found ? found->setting + " | " + found->why + " | " + found->mend : "";
}

bool says(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

bool any_says(const std::vector<std::string>& all, std::string_view part) {
    return std::any_of(all.begin(), all.end(), [&](const std::string& one) { return says(one, part); });
}

/// Findings of that kind about the controller's own settings, beside a device that has none.
bool finds(const AroundEnd& controller, Kind kind, std::string_view part) {
    const sim::NetworkReport report = sim::network_report(link_of(controller, std::nullopt));
    return std::any_of(report.findings.begin(), report.findings.end(),
                       [&](const NetworkFinding& f) { return f.kind == kind && says(f.what.why, part); });
}

void check_never_started(const sim::RunResult& seen) {
    CHECK_FALSE(seen.link_started);
    CHECK(seen.verdict == sim::RunVerdict::fail);
    CHECK(seen.dangerous.empty());
    for (const sim::EndShown* end : {&seen.controller, &seen.device}) {
        CHECK(end->state == proto::State::start_up);
        CHECK(end->refusal == proto::Refusal::none);
        CHECK(end->counters.received == 0);
        CHECK(end->counters.accepted == 0);
    }
    CHECK(seen.device.counters.sent == 0);
    CHECK(seen.controller.counters.sent > 0);  // it asks for ever
}

const sim::Ipv4 no_ip{};

}  // namespace

TEST_CASE("addresses and masks are read as they are written, and nothing else is") {
    CHECK(sim::ipv4_from("192.0.2.10").value_or(no_ip).bits == 0xC000020AU);
    CHECK(sim::written(sim::Ipv4{0xC000020AU}) == "192.0.2.10");
    for (const char* none : {"", "1", "1.2.3", "1.2.3.4.5", "1.2.3.256", "01.2.3.4", "1..3.4", "1.2.3.4 ", " 1.2.3.4",
                             "1.2.3.-4", "a.b.c.d", "1.2.3.0x4", "192.0.2.10/24", "1.2.3.4."})
        CHECK_FALSE_MESSAGE(sim::ipv4_from(none).has_value(), none);
    CHECK(sim::mask_from("/24") == sim::mask_from("255.255.255.0"));
    CHECK(sim::mask_from("/0")->bits == 0);
    CHECK(sim::mask_from("/32")->bits == ~0U);
    CHECK(sim::written(*sim::mask_from("/23")) == "255.255.254.0 (/23)");
    for (const char* none : {"", "24", "/33", "/", "/024", "/-1", "255.255.255"})
        CHECK_FALSE_MESSAGE(sim::mask_from(none).has_value(), none);
    CHECK(sim::mask_from("255.0.255.0")->has_holes());
    CHECK(sim::mask_from("0.255.255.255")->has_holes());
    for (unsigned length = 0; length <= 32; ++length) {
        const auto mask = sim::mask_from("/" + std::to_string(length));
        REQUIRE(mask);
        CHECK_FALSE(mask->has_holes());
        CHECK(mask->length() == length);
    }
}

TEST_CASE("an address that no station has keeps it apart, one that is only unusual is a remark") {
    const auto kept = [](const char* ip) { return sim::kept_apart(link_of(at(ip, "/24"), std::nullopt)).has_value(); };
    for (const char* none : {"0.1.2.3", "127.0.0.1", "224.0.0.5", "239.255.255.250", "240.0.0.1", "255.255.255.255",
                             "10.0.0.0", "10.0.0.255"})
        CHECK_MESSAGE(kept(none), none);
    for (const char* good : {"1.0.0.1", "126.9.9.9", "128.0.0.1", "223.255.255.1", "10.0.0.1", "10.0.0.254"})
        CHECK_FALSE_MESSAGE(kept(good), good);
    CHECK(finds(at("8.8.4.4", "/24"), Kind::remark, "public"));
    CHECK(finds(at("172.32.0.1", "/24"), Kind::remark, "public"));
    CHECK(finds(at("198.51.100.7", "/24"), Kind::remark, "RFC 5737"));
    CHECK(finds(at("169.254.7.7", "/16"), Kind::remark, "RFC 3927"));
    CHECK(finds(at("169.254.255.7", "/16"), Kind::problem, "RFC 3927"));
    for (const char* own : {"10.1.2.3", "172.16.0.1", "172.31.255.1", "192.168.0.9"}) {
        CHECK_FALSE_MESSAGE(finds(at(own, "/24"), Kind::remark, ""), own);
        CHECK_FALSE_MESSAGE(finds(at(own, "/24"), Kind::problem, ""), own);
    }
}

TEST_CASE("a subnet of two addresses has two stations (RFC 3021), of one nobody else, and a mask with holes none") {
    CHECK(apart(at("10.0.0.4", "/31"), at("10.0.0.5", "/31")).empty());
    CHECK(says(apart(at("10.0.0.4", "/30"), at("10.0.0.5", "/30")), "network address"));
    CHECK(says(apart(at("10.0.0.5", "/32"), at("10.0.0.6", "/32")), "subnet | "));
    CHECK(says(apart(at("10.0.0.5", "255.0.255.0"), at("10.0.0.6", "/24")), "mask of "));
}

TEST_CASE("ends in one subnet reach each other, and a wrong mask at one end is named with the one to type") {
    CHECK(apart(at("192.0.2.10", "/24"), at("192.0.2.200", "/24")).empty());
    const std::string wrong = apart(at("192.0.2.10", "/24"), at("192.0.2.200", "/25"));
    CHECK(says(wrong, "mask of " + tests::polled_link().device.name));
    CHECK(says(wrong, "255.255.255.0, as at"));
    // the other end's mask that would not help is not proposed
    const std::string other = apart(at("192.0.2.10", "/24"), at("192.0.3.200", "/24"));
    CHECK(says(other, "subnet | "));
    CHECK_FALSE(says(other, "as at"));
}

TEST_CASE("different subnets need a gateway that fits at both ends") {
    const auto c = [](const char* gateway) { return at("10.0.1.10", "/24", gateway); };
    const auto d = [](const char* gateway) { return at("10.0.2.10", "/24", gateway); };
    CHECK(apart(c("10.0.1.1"), d("10.0.2.1")).empty());
    CHECK_FALSE(apart(c("10.0.1.1"), d(nullptr)).empty());
    CHECK_FALSE(apart(c(nullptr), d("10.0.2.1")).empty());
    CHECK(says(apart(c("10.0.3.1"), d("10.0.2.1")), "gateway of "));
    CHECK(says(apart(c("10.0.1.10"), d("10.0.2.1")), "gateway of "));
    CHECK(says(apart(c("10.0.1.255"), d("10.0.2.1")), "gateway of "));
    // what gateways do with it nobody here knows, and agreement is not claimed
    const sim::CrossCheck check = sim::cross_check(link_of(c("10.0.1.1"), d("10.0.2.1")));
    CHECK(check.ok());
    CHECK(any_says(check.not_compared, "nothing here can tell"));
    // link-local addresses are passed on by no gateway
    CHECK(says(apart(at("169.254.7.7", "/16", "169.254.7.1"), d("10.0.2.1")), "RFC 3927"));
    CHECK(apart(at("169.254.7.7", "/16"), at("169.254.7.8", "/16")).empty());
}

TEST_CASE("masks that differ while a gateway helps one end are a difference, and no run passes over it") {
    const sim::Scenario s = link_of(at("192.0.2.10", "/24"), at("192.0.2.200", "/25", "192.0.2.129"));
    const sim::CrossCheck check = sim::cross_check(s);
    CHECK_FALSE(check.apart);
    REQUIRE(check.differences.size() == 1);
    CHECK(check.differences[0].setting == "subnet");
    CHECK(check.differences[0].seen_at_device.empty());  // what follows nobody here knows
    const sim::RunResult ran = sim::rehearse(s, 1);
    CHECK(ran.link_started);
    CHECK(ran.verdict == sim::RunVerdict::fail);
}

TEST_CASE("a gateway that is none is a problem also where nothing needs it") {
    const auto problem = [](const AroundEnd& controller, std::string_view part) {
        const sim::CrossCheck check = sim::cross_check(link_of(controller, at("10.0.1.20", "/24")));
        CHECK_FALSE(check.apart);
        return any_says(check.problems, part);
    };
    CHECK(problem(at("10.0.1.10", "/24", "10.0.2.1"), "outside the own subnet"));
    CHECK(problem(at("10.0.1.10", "/24", "10.0.1.10"), "own address"));
    CHECK(problem(at("10.0.1.10", "/24", "10.0.1.20"), "no gateway"));
    CHECK(problem(at("10.0.1.10", "/24", "10.0.1.0"), "network address"));
    CHECK_FALSE(problem(at("10.0.1.10", "/24", "10.0.1.1"), "gateway"));
}

TEST_CASE("what an end believes of the other is what that one has, or they do not find each other") {
    AroundEnd c = at("10.0.1.10", "/24"), d = at("10.0.1.20", "/24");
    CHECK(apart(c, d).empty());
    c.network.peer_ip = d.network.ip;
    CHECK(apart(c, d).empty());
    c.network.peer_ip = sim::ipv4_from("10.0.1.21");
    CHECK(says(apart(c, d), "looks for it as 10.0.1.21"));
    CHECK(says(apart(c, d), "see the network plan which is meant, 10.0.1.20 or "));
    c.network.peer_ip = c.network.ip;
    CHECK(says(apart(c, d), "its own address"));
    c.network.peer_ip = d.network.ip;
    CHECK(says(apart(at("10.0.1.10", "/24"), at("10.0.1.10", "/24")), "both ends have 10.0.1.10"));

    d.network.station = "drive-3";
    c.network.peer_station = "drive-3";
    CHECK(apart(c, d).empty());
    for (const auto& [typed, how] : {std::pair{"Drive-3", "by case only"},
                                     {"drive-3 ", "by a blank only"},
                                     {"drive-33", "in length, 7 and 8 characters, from character 8 on"},
                                     {"drive-8", "in character 7, \"3\" and \"8\""}}) {
        c.network.peer_station = typed;
        INFO(c.network.peer_station.value());
        CHECK(says(apart(c, d), how));
    }
    CHECK(sim::how_names_differ("Tür", "Tor") == "in character 2, \"ü\" and \"o\"");
}

TEST_CASE("where the other end states no address, what one end looks for is held against its own") {
    const auto looks_for = [](const char* peer, const char* gateway) {
        AroundEnd c = at("10.0.1.10", "/24", gateway);
        c.network.peer_ip = sim::ipv4_from(peer);
        return c;
    };
    CHECK(finds(looks_for("10.0.1.10", nullptr), Kind::problem, "its own address"));
    CHECK(finds(looks_for("10.0.2.20", nullptr), Kind::problem, "outside its own subnet, and no gateway"));
    CHECK_FALSE(finds(looks_for("10.0.2.20", "10.0.1.1"), Kind::problem, "outside its own subnet"));
    CHECK_FALSE(finds(looks_for("10.0.1.20", nullptr), Kind::problem, "looks for"));
    CHECK(sim::kept_apart(link_of(looks_for("10.0.2.20", nullptr), std::nullopt)).has_value());
}

TEST_CASE("a name of another form than a host's is a remark, and one that both have a problem") {
    AroundEnd c = at("10.0.1.10", "/24"), d = at("10.0.1.20", "/24");
    for (const char* good : {"drive-3", "a.b-c.d9", "3", "A"}) {
        c.network.station = good;
        CHECK_FALSE_MESSAGE(finds(c, Kind::remark, "RFC 1123"), good);
    }
    for (const char* other : {"drive 3", "-a", "a-", "a..b", "a_b", "T\xC3\xBCr", "a."}) {
        c.network.station = other;
        CHECK_MESSAGE(finds(c, Kind::remark, "RFC 1123"), other);
    }
    c.network.station = std::string(64, 'a');
    CHECK(finds(c, Kind::remark, "RFC 1123"));
    c.network.station = d.network.station = "one";
    CHECK(any_says(sim::cross_check(link_of(c, d)).problems, "both ends are called"));
    CHECK_FALSE(sim::kept_apart(link_of(c, d)));
    c.network.peer_station = "one";
    CHECK(sim::kept_apart(link_of(c, d)));
}

TEST_CASE("what one end alone types is not compared, and that is said") {
    const sim::CrossCheck one = sim::cross_check(link_of(at("10.0.1.10", "/24"), std::nullopt));
    CHECK(one.ok());
    CHECK(any_says(one.not_compared, "is not known"));
    CHECK(any_says(one.cautions, "not compared: network settings are typed at"));
    AroundEnd no_mask = at("10.0.2.20", "/24");
    no_mask.network.mask.reset();
    const sim::CrossCheck half = sim::cross_check(link_of(at("10.0.2.10", "/24"), no_mask));
    CHECK(half.ok());
    CHECK(any_says(half.not_compared, "no mask is typed"));
    // one way is known to end nowhere all the same
    CHECK(sim::kept_apart(link_of(at("10.0.1.10", "/24"), no_mask)));
    CHECK(sim::cross_check(link_of(std::nullopt, std::nullopt)).not_compared.empty());
}

TEST_CASE("ends that cannot reach each other never start, whatever else goes wrong") {
    const AroundEnd c = at("192.0.2.10", "/24"), wrong = at("192.0.2.200", "/25"), right = at("192.0.2.200", "/24");
    CHECK(sim::rehearse(link_of(c, right), 1).link_started);
    sim::Scenario s = link_of(c, wrong);
    check_never_started(sim::rehearse(s, 1));
    // telegrams of elsewhere and of an earlier start do not come in either
    s.neighbour = sim::Neighbour{.name = "next", .controller_address = 9, .device_address = 10, .where = {}};
    for (const sim::FaultWay way : {sim::FaultWay::neighbour, sim::FaultWay::loop_back, sim::FaultWay::stray}) {
        s.faults = {tests::lasting(tests::fault_of(way), proto::milliseconds(500))};
        const sim::RunResult seen = sim::rehearse(s, 1);
        check_never_started(seen);
        REQUIRE(seen.injections.size() == 1);
        CHECK(seen.injections[0].outcome == sim::Outcome::never_ran);
        sim::Scenario reached = s;
        reached.device.around = std::make_shared<const AroundEnd>(right);
        CHECK(sim::rehearse(reached, 1).injections[0].outcome != sim::Outcome::not_fired);
    }
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.apart);
    CHECK_FALSE(check.ok());
    CHECK(check.differences.empty());  // a problem, no difference of the link's settings
    CHECK(check.signature.has_value());
    CHECK(any_says(check.problems, "cannot reach each other"));
    CHECK(any_says(check.problems, sim::no_answer_shown));
}

TEST_CASE("module and slot must be the same at both ends, firmware only where both state it") {
    AroundEnd c, d;
    c.fitted.module = d.fitted.module = "io";
    c.fitted.slot = d.fitted.slot = 2;
    CHECK(sim::cross_check(link_of(c, d)).ok());
    d.fitted.slot = 3;
    const sim::CrossCheck check = sim::cross_check(link_of(c, d));
    REQUIRE(check.differences.size() == 1);
    CHECK(check.differences[0].setting == "slot");
    CHECK(check.differences[0].controller == "2");
    check_never_started(sim::rehearse(link_of(c, d), 1));
    d.fitted.slot.reset();
    CHECK(any_says(sim::cross_check(link_of(c, d)).not_compared, "slot is typed at"));

    AroundEnd old;
    old.fitted.firmware = "1.8";
    AroundEnd believes;
    believes.fitted.firmware = "4.2";  // its own, nothing to do with the other's
    CHECK(sim::cross_check(link_of(believes, old)).ok());
    believes.fitted.peer_firmware = "1.8";
    CHECK(sim::cross_check(link_of(believes, old)).ok());
    believes.fitted.peer_firmware = "1.9";
    const sim::CrossCheck firmware = sim::cross_check(link_of(believes, old));
    REQUIRE(firmware.differences.size() == 1);
    CHECK(says(firmware.differences[0].setting, "firmware of "));
    // the link runs, and nobody knows what other firmware does with it
    const sim::RunResult ran = sim::rehearse(link_of(believes, old), 1);
    CHECK(ran.link_started);
    CHECK(ran.verdict == sim::RunVerdict::fail);
    CHECK(any_says(ran.remarks, "what that does is not rehearsed"));
    believes.fitted.peer_firmware = "1.8";
    CHECK(sim::rehearse(link_of(believes, old), 1).verdict == sim::RunVerdict::pass);
}

TEST_CASE("a module is compared with lengths, bits and values at its end") {
    sim::Scenario s = tests::polled_link();
    AroundEnd around;
    around.fitted.module = "io";
    around.fitted.layout = sim::ModuleLayout{
        .name = "io", .to_device = s.controller.link.payload_sent, .to_controller = s.controller.link.payload_received};
    const auto with = [&](const AroundEnd& typed) { return link_of(typed, typed); };
    CHECK(sim::cross_check(with(around)).ok());
    CHECK(any_says(sim::cross_check(with(around)).not_compared, "says nothing of its bits"));
    AroundEnd longer = around;
    ++longer.fitted.layout->to_device;
    REQUIRE(sim::cross_check(with(longer)).apart);
    CHECK(says(sim::cross_check(with(longer)).apart->why, "are typed there"));
    REQUIRE_FALSE(s.controller.bits.empty());
    const sim::TypedBit bit = s.controller.bits.front();
    const auto signal = std::find_if(s.signals.begin(), s.signals.end(),
                                     [&](const sim::Signal& one) { return one.name == bit.signal; });
    REQUIRE(signal != s.signals.end());
    AroundEnd fields = around;
    for (unsigned place = 0; place < 8; ++place)
        for (unsigned byte = 0; byte < 4; ++byte)
            if (sim::BitPlace{byte, place} != bit.place)
                fields.fitted.layout->fields.push_back({"x", signal->direction, std::nullopt, {byte, place}});
    CHECK(any_says(sim::cross_check(with(fields)).problems, "has no such bit"));
    fields.fitted.layout->fields.push_back({"y", signal->direction, std::nullopt, bit.place});
    CHECK_FALSE(any_says(sim::cross_check(with(fields)).problems, bit.signal));
}

TEST_CASE("in a cell the link of an unreachable station alone stays still, and a double address is told") {
    const std::string path = LINKDRILL_SOURCE_DIR "/scenarios/templates/over_two_links.toml";
    const auto whole = sim::read_cell(path);
    REQUIRE(whole.ok());
    CHECK_FALSE(sim::kept_apart(whole.value()));
    sim::WholeCell cell = whole.value();
    AroundEnd moved = *cell.links[1].alone.device.around;
    moved.network.ip = sim::ipv4_from("198.51.100.53");
    cell.links[1].alone.device.around = std::make_shared<const AroundEnd>(moved);
    const auto found = sim::kept_apart(cell);
    REQUIRE(found);
    CHECK(found->first == 1);
    const sim::CellResult result = sim::rehearse_cell(cell, cell.seed);
    CHECK(result.verdict == sim::RunVerdict::fail);
    CHECK(result.links[0].link_started);
    check_never_started(result.links[1]);
    CHECK_FALSE(sim::check_cell(cell).ok());
}

TEST_CASE("two stations of a cell with one address or one name: neither link runs") {
    const std::string path = LINKDRILL_SOURCE_DIR "/scenarios/templates/over_two_links.toml";
    std::ifstream in(path);
    const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    for (const auto& [old, now] :
         {std::pair<std::string, std::string>{"192.0.2.53", "192.0.2.52"}, {"\"saw-drive\"", "\"infeed-io\""}}) {
        std::string changed = text;
        for (std::size_t found = changed.find(old); found != std::string::npos; found = changed.find(old))
            changed.replace(found, old.size(), now);
        const auto cell = sim::cell_in(changed, path);
        REQUIRE(cell.ok());
        for (const sim::CellLink& link : cell.value().links) {
            const auto apart = sim::kept_apart(link.alone);
            REQUIRE(apart);
            CHECK(says(apart->why, "has the same"));
        }
    }
    const auto cell = sim::cell_in(text, path);
    REQUIRE(cell.ok());
    // the controller's table with what each link has of its own
    CHECK(sim::network_of(cell.value().links[0].alone.controller)->peer_ip == sim::ipv4_from("192.0.2.52"));
    CHECK(sim::network_of(cell.value().links[1].alone.controller)->peer_ip == sim::ipv4_from("192.0.2.53"));
    CHECK(sim::network_of(cell.value().links[1].alone.controller)->ip == sim::ipv4_from("192.0.2.51"));
    // a mistake in a table of one link is told where it stands in the file
    std::string bad = text;
    bad.replace(bad.find("peer_ip = \"192.0.2.53\""), 22, "peer_ip = \"192.0.2.530\"");
    const auto refused = sim::cell_in(bad, path);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().key == "link[2].controller.network.peer_ip");
}
