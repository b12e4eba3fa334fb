#include <utility>

#include "sim/reading/addresses.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/profiles.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/setting_blamed.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using proto::LinkSettings;
using Zero = Section::Zero;

constexpr Duration longest_watchdog = proto::seconds(3600);
constexpr Duration longest_cycle = proto::seconds(10);

/// Keys of a link as typed in one table; what is not typed there comes from [link], or from a default.
struct TypedLink {
    std::optional<proto::Exchange> exchange;
    std::optional<std::string> profile;
    std::optional<Duration> cycle, watchdog, controller_watchdog, device_watchdog, error_interval, max_age, max_early;
    std::optional<std::int64_t> payload, payload_to_device, payload_to_controller, claimed_sil, missing_allowed,
        max_lag;
    std::optional<proto::Reaction> reaction;
    std::optional<proto::ByteOrder> byte_order;
    std::optional<proto::Answers> answers;
};

TypedLink read_typed_link(Section& s) {
    TypedLink t;
    t.exchange = s.choice<proto::Exchange>(
        "exchange", {{"polled", proto::Exchange::polled}, {"streaming", proto::Exchange::streaming}});
    t.profile = s.text("profile");
    t.cycle = s.duration("cycle", Zero::refused, longest_cycle);
    t.watchdog = s.duration("watchdog", Zero::refused, longest_watchdog);
    t.controller_watchdog = s.duration("controller_watchdog", Zero::refused, longest_watchdog);
    t.device_watchdog = s.duration("device_watchdog", Zero::refused, longest_watchdog);
    t.error_interval = s.duration("error_interval", Zero::allowed, run_longest);
    t.max_age = s.duration("max_age", Zero::refused, longest_watchdog);
    t.max_early = s.duration("max_early", Zero::refused, longest_watchdog);
    t.payload = s.integer("payload", 1, proto::payload_bytes_max);
    t.payload_to_device = s.integer("payload_to_device", 1, proto::payload_bytes_max);
    t.payload_to_controller = s.integer("payload_to_controller", 1, proto::payload_bytes_max);
    t.claimed_sil = s.integer("claimed_sil", 1, 4);
    t.missing_allowed = s.integer("missing_allowed", 0, 255);
    t.max_lag = s.integer("max_lag", 1, std::int64_t{1} << 31);
    t.reaction =
        s.choice<proto::Reaction>("reaction", {{"trip", proto::Reaction::trip}, {"discard", proto::Reaction::discard}});
    t.byte_order = s.choice<proto::ByteOrder>(
        "byte_order", {{"high-first", proto::ByteOrder::high_first}, {"low-first", proto::ByteOrder::low_first}});
    t.answers = s.choice<proto::Answers>("answers",
                                         {{"each", proto::Answers::each}, {"one-a-scan", proto::Answers::one_a_scan}});
    return t;
}

/// One end's table on top of [link].
class EndReader {
  public:
    EndReader(Section* link, Section& own, const Section& other, End end)
        : link_(link), own_(own), other_(other), end_(end) {
        if (link != nullptr) shared_ = read_typed_link(*link);
        typed_ = read_typed_link(own);
    }

    /// Where a key of this end was typed.
    [[nodiscard]] Place place(std::string_view key) const {
        const bool in_link = own_.node().find(key) == nullptr && link_ != nullptr && link_->node().find(key) != nullptr;
        return in_link ? link_->place(key) : own_.place(key);
    }
    /// The first of the keys that was typed, at this end before [link].
    [[nodiscard]] Place place_of_any(std::initializer_list<std::string_view> keys) const {
        for (const Section* section : std::initializer_list<const Section*>{&own_, link_}) {
            for (const std::string_view key : keys) {
                if (section != nullptr && section->node().find(key) != nullptr) return section->place(key);
            }
        }
        return place(*keys.begin());
    }

    void read(TypedEnd& end, Profiles& profiles) {
        LinkSettings& s = end.link;
        s.end = end_;
        s.exchange = needed(&TypedLink::exchange, "exchange", "\"polled\"").value_or(proto::Exchange::polled);
        if (const auto name = needed(&TypedLink::profile, "profile", "\"crc32_carried\"")) {
            end.profile_file = *name;
            s.profile = profiles.get(*name, place("profile"), own_.problems());
        }
        s.cycle = needed(&TypedLink::cycle, "cycle", "\"10 ms\"").value_or(s.cycle);
        s.scan = s.cycle;
        read_watchdogs(s);
        s.error_interval = either(&TypedLink::error_interval).value_or(proto::seconds(360));
        s.max_age = either(&TypedLink::max_age).value_or(Duration{});
        s.max_early = either(&TypedLink::max_early).value_or(Duration{});
        read_payloads(s);
        s.claimed_level = static_cast<unsigned>(either(&TypedLink::claimed_sil).value_or(2));
        s.missing_allowed = static_cast<unsigned>(either(&TypedLink::missing_allowed).value_or(0));
        if (const auto lag = either(&TypedLink::max_lag)) s.max_lag = static_cast<unsigned>(*lag);
        s.reaction = either(&TypedLink::reaction).value_or(proto::Reaction::trip);
        s.byte_order = either(&TypedLink::byte_order).value_or(proto::ByteOrder::high_first);
        s.answers = either(&TypedLink::answers).value_or(proto::Answers::each);
        if (s.exchange == proto::Exchange::streaming && either(&TypedLink::answers))
            own_.problems().say(place("answers"), "is for a polled device; leave it out, since nobody answers here");
    }

    /// What [link] says of both ends.
    [[nodiscard]] Meant meant() const {
        const auto count = [](const std::optional<std::int64_t>& typed) {
            std::optional<unsigned> found;
            if (typed) found = static_cast<unsigned>(*typed);
            return found;
        };
        const TypedLink& link = shared_;
        Meant found;
        found.profile = link.profile;
        found.exchange = link.exchange;
        found.payload_to_device = count(link.payload_to_device ? link.payload_to_device : link.payload);
        found.payload_to_controller = count(link.payload_to_controller ? link.payload_to_controller : link.payload);
        found.byte_order = link.byte_order;
        found.cycle = link.cycle;
        found.controller_watchdog = link.controller_watchdog ? link.controller_watchdog : link.watchdog;
        found.device_watchdog = link.device_watchdog ? link.device_watchdog : link.watchdog;
        found.missing_allowed = count(link.missing_allowed);
        found.claimed_level = count(link.claimed_sil);
        return found;
    }

    void say_fault(const TypedEnd& end, const proto::SettingsError& error) {
        const Meant link = meant();
        const SettingBlamed blamed = setting_blamed(end, error, {link.controller_watchdog, link.device_watchdog});
        own_.problems().say(place_of_any({blamed.key}), blamed.message);
    }

  private:
    Section* link_;
    Section& own_;
    const Section& other_;
    End end_;
    TypedLink shared_, typed_;

    template <class T>
    [[nodiscard]] std::optional<T> either(std::optional<T> TypedLink::*key) const {
        return (typed_.*key).has_value() ? typed_.*key : shared_.*key;
    }
    template <class T>
    std::optional<T> needed(std::optional<T> TypedLink::*key, std::string_view name, std::string_view example) {
        std::optional<T> value = either(key);
        const bool typed =
            own_.node().find(name) != nullptr || (link_ != nullptr && link_->node().find(name) != nullptr);
        // [link] may stand there under another name; and what both ends lack is told once.
        const std::string of_link = "link." + std::string(name);
        if (value || typed || own_.in_doubt({of_link})) return value;
        if (other_.node().find(name) == nullptr) {
            (link_ != nullptr ? *link_ : own_).missing(name, example);
            return value;
        }
        own_.problems().say(other_.place(name),
                            "stands at this end alone, and the other one needs it too; write it in "
                            "[link], for both");
        return value;
    }

    /// A watchdog typed for one end alone stands before the one for both, what is typed here before [link].
    void read_watchdogs(LinkSettings& s) {
        const auto of = [&](std::optional<Duration> TypedLink::*alone) {
            for (const TypedLink* t : {&typed_, &shared_}) {
                if ((t->*alone).has_value()) return t->*alone;
                if (t->watchdog.has_value()) return t->watchdog;
            }
            return std::optional<Duration>();
        };
        const std::optional<Duration> controller = of(&TypedLink::controller_watchdog);
        const std::optional<Duration> device = of(&TypedLink::device_watchdog);
        if (!controller || !device) {
            needed(&TypedLink::watchdog, "watchdog", "\"45 ms\"");
            return;
        }
        s.watchdog = end_ == End::controller ? *controller : *device;
        s.peer_watchdog = end_ == End::controller ? *device : *controller;
    }

    void read_payloads(LinkSettings& s) {
        const auto of = [&](std::optional<std::int64_t> TypedLink::*alone) {
            for (const TypedLink* t : {&typed_, &shared_}) {
                if ((t->*alone).has_value()) return static_cast<unsigned>(*(t->*alone));
                if (t->payload.has_value()) return static_cast<unsigned>(*t->payload);
            }
            return s.profile.payload_bytes;
        };
        const unsigned to_device = of(&TypedLink::payload_to_device);
        const unsigned to_controller = of(&TypedLink::payload_to_controller);
        s.payload_sent = end_ == End::controller ? to_device : to_controller;
        s.payload_received = end_ == End::controller ? to_controller : to_device;
    }
};

void put(const TypedAddress& address, std::uint32_t& value, unsigned& digits) {
    value = address.value;
    digits = address.hex_digits;
}

/// What nobody typed for the other end is as that end has it, and looks as it was typed there.
void read_addresses(Section& controller, Section& device, Scenario& scenario) {
    TypedEnd &c = scenario.controller, &d = scenario.device;
    put(read_address(controller, "address", {0}), c.link.own_address, c.own_digits);
    put(read_address(device, "address", {1}), d.link.own_address, d.own_digits);
    put(read_address(controller, "peer_address", d.own_address()), c.link.peer_address, c.peer_digits);
    put(read_address(device, "peer_address", c.own_address()), d.link.peer_address, d.peer_digits);
}

}  // namespace

void read_ends(Section& top, Scenario& scenario) {
    std::optional<Section> link = top.table("link");
    std::optional<Section> controller = top.table("controller");
    std::optional<Section> device = top.table("device");
    if (!controller) top.missing("controller", "{ address = \"0x0010\" }, or a table [controller]");
    if (!device) top.missing("device", "{ address = \"0x0020\" }, or a table [device]");
    if (!controller || !device) return top.problems().doubt("link");

    Section* shared = link ? &*link : nullptr;
    EndReader controller_reader(shared, *controller, *device, End::controller);
    EndReader device_reader(shared, *device, *controller, End::device);
    Profiles profiles(scenario.file);
    controller_reader.read(scenario.controller, profiles);
    // A key that both lack is missing once.
    device_reader.read(scenario.device, profiles);
    scenario.meant = controller_reader.meant();

    scenario.controller.name = controller->text("name").value_or("controller");
    scenario.device.name = device->text("name").value_or("device");
    for (Section* s : {&*controller, &*device}) {
        if (!s->has("address")) s->missing("address", "\"0x0010\"");
        static_cast<void>(s->find("bits"));    // read_bits() reads them
        static_cast<void>(s->find("values"));  // read_values() reads them
    }
    LinkSettings& c = scenario.controller.link;
    LinkSettings& d = scenario.device.link;
    read_addresses(*controller, *device, scenario);
    for (const auto& [end, section] : {std::pair{&scenario.controller, &*controller}, {&scenario.device, &*device}})
        end->role = section->choice<End>("role", {{"controller", End::controller}, {"device", End::device}});
    read_around(shared, *controller, *device, scenario);
    d.scan = device->duration("scan", Zero::refused, longest_cycle).value_or(d.cycle);
    scenario.device_phase = device->duration("phase", Zero::allowed, longest_cycle).value_or(Duration{});

    if (link) link->finish();
    controller->finish();
    device->finish();
    if (top.in_doubt({"link"})) return;
    if (scenario.device_phase >= d.scan) {
        device->say("phase", written(scenario.device_phase) + " is not within a scan; write less than \"" +
                                 written(d.scan) + "\"");
    }
    // An end's own address first: where it is copied to as the peer's is not where it was mistyped.
    for (const auto& [end, section] : {std::pair{&scenario.controller, &*controller}, {&scenario.device, &*device}}) {
        const proto::Profile& profile = end->link.profile;
        if (profile.address.presence == proto::Presence::absent) continue;
        const std::uint64_t largest = (std::uint64_t{1} << profile.address.bits) - 1;
        if (end->link.own_address > largest) section->say("address", too_wide(end->own_address(), *end, largest));
    }
    const bool all_alike =
        c.own_address == d.own_address && c.peer_address == c.own_address && d.peer_address == c.own_address;
    if (all_alike) device->say("address", equal_addresses(scenario.device.own_address()));
    if (scenario.controller.plays_the_other() && scenario.device.plays_the_other())
        device->say("role",
                    "each end has the other one's role, and such a link runs with its ends exchanged, which nothing "
                    "here rehearses; take one of the two away");
    // The ends share most settings, so that the second would blame what the first has blamed.
    if (top.in_doubt({"link"})) return;
    if (const auto error = proto::fault_in(c)) return controller_reader.say_fault(scenario.controller, *error);
    if (const auto error = proto::fault_in(d)) device_reader.say_fault(scenario.device, *error);
}

}  // namespace sim
