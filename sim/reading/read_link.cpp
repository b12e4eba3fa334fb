#include <algorithm>
#include <array>
#include <filesystem>
#include <map>

#include "proto/telegram.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
using proto::LinkSettings;
using proto::SettingsFault;
using Zero = Section::Zero;

constexpr Duration longest_watchdog = proto::seconds(3600);
constexpr Duration longest_cycle = proto::seconds(10);

std::string equal_addresses(std::uint32_t address) {
    return "both ends have the address " + written_hex(address, 4) + "; write two different ones";
}

std::string too_wide(std::uint32_t address, const TypedEnd& end, std::uint64_t largest) {
    return written_hex(address, 4) + " is too wide for " + end.profile_file + "; write 0x0 to " +
           written_hex(largest, 1);
}

/// Keys of a link as typed in one table; what is not typed there comes from [link], or from a default.
struct TypedLink {
    std::optional<proto::Exchange> exchange;
    std::optional<std::string> profile;
    std::optional<Duration> cycle, watchdog, controller_watchdog, device_watchdog, error_interval, max_age, max_early;
    std::optional<std::int64_t> payload, payload_to_device, payload_to_controller, claimed_sil, missing_allowed,
        max_lag;
    std::optional<proto::Reaction> reaction;
    std::optional<proto::ByteOrder> byte_order;
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
    return t;
}

/// Where the profile of that name lies, or the names that there are.
struct ProfileSearch {
    std::string found;
    std::vector<std::string> names;
};

ProfileSearch search_profile(const std::string& scenario_file, const std::string& name) {
    ProfileSearch search;
    const fs::path folder = fs::path(scenario_file).parent_path();
    std::error_code error;
    if (name.find('/') != std::string::npos || name.ends_with(".toml")) {
        const fs::path path = (folder / name).lexically_normal();
        if (fs::exists(path, error)) search.found = path.string();
    }
    for (const char* step : {"profiles", "../profiles", "../../profiles"}) {
        if (!search.found.empty()) break;
        const fs::path profiles = (folder / step).lexically_normal();
        if (const fs::path path = profiles / (name + ".toml"); fs::exists(path, error)) search.found = path.string();
        constexpr std::size_t names_shown_max = 1000;
        for (fs::directory_iterator entry(profiles, error), end; !error && entry != end; entry.increment(error)) {
            if (entry->path().extension() == ".toml" && search.names.size() < names_shown_max) {
                search.names.push_back(entry->path().stem().string());
            }
        }
    }
    std::sort(search.names.begin(), search.names.end());
    return search;
}

/// Reads each profile file once.
class Profiles {
  public:
    explicit Profiles(std::string scenario_file) : scenario_file_(std::move(scenario_file)) {}

    proto::Profile get(const std::string& name, const Place& where, Problems& problems) {
        if (const auto known = known_.find(name); known != known_.end()) return known->second;
        const ProfileSearch search = search_profile(scenario_file_, name);
        proto::Profile profile;
        if (search.found.empty()) {
            problems.say(
                where,
                in_quotes(name) + " is no profile beside this scenario or in a folder profiles near it; " +
                    (search.names.empty() ? std::string("write the path of a profile file")
                                          : "nearest is \"" + search.names[nearest_of(name, search.names)] + "\""));
            return profile;
        }
        const proto::Result<proto::Profile, FileError> read = read_profile(search.found);
        if (read) {
            profile = read.value();
        } else {
            problems.say(read.error());
        }
        known_.emplace(name, profile);
        return profile;
    }

  private:
    std::string scenario_file_;
    std::map<std::string, proto::Profile> known_;
};

/// One end's table on top of [link].
class EndReader {
  public:
    EndReader(Section* link, Section& own, End end) : link_(link), own_(own), end_(end) {
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
        for (const Section* section : {const_cast<const Section*>(&own_), const_cast<const Section*>(link_)}) {
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
    }

    void say_fault(const TypedEnd& end, const proto::SettingsError& error) {
        const auto [keys, message] = described(end, error);
        own_.problems().say(keys.empty() ? own_.place() : place_of_any({keys}), message);
    }

  private:
    Section* link_;
    Section& own_;
    End end_;
    TypedLink shared_, typed_;

    template <class T>
    std::optional<T> either(std::optional<T> TypedLink::*key) const {
        return (typed_.*key).has_value() ? typed_.*key : shared_.*key;
    }
    template <class T>
    std::optional<T> needed(std::optional<T> TypedLink::*key, std::string_view name, std::string_view example) {
        const std::optional<T> value = either(key);
        const bool typed =
            own_.node().find(name) != nullptr || (link_ != nullptr && link_->node().find(name) != nullptr);
        if (!value && !typed) (link_ != nullptr ? *link_ : own_).missing(name, example);
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

    /// The key to blame and the message for a fault in the settings.
    static std::pair<std::string, std::string> described(const TypedEnd& end, const proto::SettingsError& error) {
        const LinkSettings& s = end.link;
        const std::string profile = in_quotes(end.profile_file);
        switch (error.fault) {
            case SettingsFault::profile:
                return {"payload", profile + " with this payload is over " + std::to_string(proto::telegram_bytes_max) +
                                       " bytes, all copies together; write a shorter payload"};
            case SettingsFault::addresses_equal: return {"peer_address", equal_addresses(s.own_address)};
            case SettingsFault::address_too_wide: {
                const std::uint64_t largest = (std::uint64_t{1} << s.profile.address.bits) - 1;
                const bool own = s.own_address > largest;
                return {own ? "address" : "peer_address", too_wide(own ? s.own_address : s.peer_address, end, largest)};
            }
            case SettingsFault::polled_needs_number:
                return {"profile", profile +
                                       " has a sequence number of under 2 bits, which a polled link needs; write a "
                                       "profile with one"};
            case SettingsFault::polled_feedback:
                return {"profile", profile +
                                       " has a feedback field, but the number of a polled answer already is the "
                                       "feedback; write a profile without it"};
            case SettingsFault::streaming_needs_number:
                return {"profile", profile +
                                       " has a sequence number of under 2 bits, which a streaming link needs; write "
                                       "a profile with one"};
            case SettingsFault::missing_allowed:
                if (s.exchange == proto::Exchange::polled) {
                    return {"missing_allowed",
                            "means nothing in a polled link, where the number only advances with its "
                            "answer; take it away"};
                }
                return {"missing_allowed", std::to_string(s.missing_allowed) + " is too much for " +
                                               std::to_string(s.profile.sequence.bits) +
                                               " bits of number; write less than " +
                                               std::to_string((std::uint64_t{1} << (s.profile.sequence.bits - 1)) - 1)};
            case SettingsFault::max_lag:
                if (s.exchange == proto::Exchange::polled)
                    return {"max_lag", "means nothing in a polled link; take it away"};
                if (!s.profile.feedback) {
                    return {"max_lag", profile +
                                           " has no feedback field to judge by; take max_lag away, or write another "
                                           "profile"};
                }
                return {"max_lag", std::to_string(s.max_lag.value_or(0)) +
                                       " is over half the number range; write less than " +
                                       std::to_string(std::uint64_t{1} << (s.profile.sequence.bits - 1))};
            case SettingsFault::cycle:
                return {"cycle",
                        written(s.cycle) + " is not within 0.1 ms to 10 s in whole microseconds; write \"10 ms\""};
            case SettingsFault::scan:
                return {"scan",
                        written(s.scan) + " is not within 0.1 ms to 10 s in whole microseconds; write \"10 ms\""};
            case SettingsFault::watchdog: {
                const bool own = s.watchdog <= s.cycle || s.watchdog.ns % 1000 != 0;
                const Duration bad = own ? s.watchdog : s.peer_watchdog;
                if (bad > s.cycle)
                    return {"watchdog", written(bad) + " is no whole number of microseconds; write \"45 ms\""};
                return {"watchdog", written(bad) + (bad == s.cycle ? " is only the cycle (" : " is under the cycle (") +
                                        written(s.cycle) + "); write \"" + written(s.cycle * 2) + "\" or more"};
            }
            case SettingsFault::error_interval: return {"error_interval", "is negative; write \"6 min\""};
            case SettingsFault::max_age: {
                if (s.profile.time_stamp_bits == 0) {
                    return {"max_age", profile +
                                           " has no time stamp to judge by; take max_age away, or write another "
                                           "profile"};
                }
                const std::int64_t units = (std::int64_t{1} << (s.profile.time_stamp_bits - 1)) - 1;
                const Duration longest = s.profile.time_stamp_unit * units;
                return {"max_age",
                        (s.max_age.ns == 0 ? std::string("is missing, and ") : written(s.max_age) + " does not fit: ") +
                            profile + " has a time stamp; write max_age = \"" + written(s.profile.time_stamp_unit) +
                            "\" to \"" + written(longest) + "\""};
            }
            case SettingsFault::max_early: {
                if (s.profile.time_stamp_bits == 0 || s.profile.time_stamp_kind == proto::StampKind::echo) {
                    return {"max_early", profile +
                                             " has no stamp of the sender's clock to judge by; take max_early away, or "
                                             "write another profile"};
                }
                const std::int64_t range = (std::int64_t{1} << s.profile.time_stamp_bits) - 1;
                const Duration room =
                    s.profile.time_stamp_unit * range - s.max_age - std::max(s.watchdog, s.peer_watchdog);
                const Duration longest = std::min(room, s.profile.time_stamp_unit * (range / 2));
                return {
                    "max_early",
                    (s.max_early.ns == 0 ? std::string("is missing, and ") : written(s.max_early) + " does not fit: ") +
                        profile + " has a stamp of the sender's clock; write max_early = \"" +
                        written(s.profile.time_stamp_unit) + "\" or more, below \"" + written(longest) + "\""};
            }
            case SettingsFault::claimed_level: return {"claimed_sil", "is not 1 to 4; write 2"};
            case SettingsFault::loop_back_unseen:
                return {"profile", profile +
                                       " has neither direction nor addresses: an end would take its own telegram, "
                                       "looped back, for its peer's; write a profile that shows the direction"};
            case SettingsFault::without_crc:
                return {"profile",
                        profile + " has no CRC, which exists only in the comparison of measures; write another"};
            case SettingsFault::number_not_judged:
                return {"profile", "numbers that nobody judges exist only in the comparison of measures"};
        }
        return {"profile", "does not fit these settings; write another"};
    }
};

std::uint32_t read_address(Section& s, std::string_view key, std::uint32_t otherwise) {
    return static_cast<std::uint32_t>(s.hex(key, 0xFFFF'FFFF).value_or(otherwise));
}

proto::Codec codec_of(const LinkSettings& s, const proto::CrcEngine& crc, End sender, std::uint32_t controller,
                      std::uint32_t device) {
    const bool from_controller = sender == End::controller;
    return {s.profile,     &crc, sender, from_controller ? controller : device, from_controller ? device : controller,
            s.payload_sent};
}

/// Implied addresses of two links under which their telegrams cannot be told apart.
void check_aliases(const Scenario& scenario, const Neighbour& neighbour, Section& section) {
    for (const TypedEnd* end : {&scenario.controller, &scenario.device}) {
        const LinkSettings& s = end->link;
        if (s.profile.address.presence != proto::Presence::implied || !s.profile.crc) continue;
        const auto crc = proto::CrcEngine::make(*s.profile.crc);
        if (!crc) continue;
        const bool at_controller = s.end == End::controller;
        const std::uint32_t controller = at_controller ? s.own_address : s.peer_address;
        const std::uint32_t device = at_controller ? s.peer_address : s.own_address;
        for (const End sender : {End::controller, End::device}) {
            for (const End other_sender : {End::controller, End::device}) {
                const auto mine = codec_of(s, crc.value(), sender, controller, device);
                const auto theirs =
                    codec_of(s, crc.value(), other_sender, neighbour.controller_address, neighbour.device_address);
                if (mine.implied_register() != theirs.implied_register()) continue;
                section.say("controller_address",
                            "these addresses and those of the link under rehearsal give the same CRC in " +
                                in_quotes(end->profile_file) +
                                ", so that no receiver can tell the links apart; write other addresses, or a profile "
                                "that carries them");
                return;
            }
        }
    }
}

}  // namespace

void read_ends(Section& top, Scenario& scenario) {
    std::optional<Section> link = top.table("link");
    std::optional<Section> controller = top.table("controller");
    std::optional<Section> device = top.table("device");
    if (!controller) top.missing("controller", "{ address = \"0x0010\" }, or a table [controller]");
    if (!device) top.missing("device", "{ address = \"0x0020\" }, or a table [device]");
    if (!controller || !device) return;

    Section* shared = link ? &*link : nullptr;
    EndReader controller_reader(shared, *controller, End::controller);
    EndReader device_reader(shared, *device, End::device);
    Profiles profiles(scenario.file);
    controller_reader.read(scenario.controller, profiles);
    // A key that both lack is missing once.
    device_reader.read(scenario.device, profiles);

    scenario.controller.name = controller->text("name").value_or("controller");
    scenario.device.name = device->text("name").value_or("device");
    for (Section* s : {&*controller, &*device}) {
        if (!s->has("address")) s->missing("address", "\"0x0010\"");
        static_cast<void>(s->find("bits"));  // read_bits() reads them
    }
    LinkSettings& c = scenario.controller.link;
    LinkSettings& d = scenario.device.link;
    c.own_address = read_address(*controller, "address", 0);
    d.own_address = read_address(*device, "address", 1);
    c.peer_address = read_address(*controller, "peer_address", d.own_address);
    d.peer_address = read_address(*device, "peer_address", c.own_address);
    d.scan = device->duration("scan", Zero::refused, longest_cycle).value_or(d.cycle);
    scenario.device_phase = device->duration("phase", Zero::allowed, longest_cycle).value_or(Duration{});

    if (link) link->finish();
    controller->finish();
    device->finish();
    if (top.problems().any()) return;
    if (scenario.device_phase >= d.scan) {
        device->say("phase", written(scenario.device_phase) + " is not within a scan; write less than \"" +
                                 written(d.scan) + "\"");
    }
    // An end's own address first: where it is copied to as the peer's is not where it was mistyped.
    for (const auto& [end, section] : {std::pair{&scenario.controller, &*controller}, {&scenario.device, &*device}}) {
        const proto::Profile& profile = end->link.profile;
        if (profile.address.presence == proto::Presence::absent) continue;
        const std::uint64_t largest = (std::uint64_t{1} << profile.address.bits) - 1;
        if (end->link.own_address > largest) section->say("address", too_wide(end->link.own_address, *end, largest));
    }
    if (c.own_address == d.own_address) device->say("address", equal_addresses(d.own_address));
    if (const auto error = proto::fault_in(c)) controller_reader.say_fault(scenario.controller, *error);
    if (const auto error = proto::fault_in(d)) device_reader.say_fault(scenario.device, *error);
}

void read_neighbour(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("neighbour");
    if (!section) return;
    Neighbour neighbour;
    neighbour.where = section->place();
    neighbour.name = section->text("name").value_or(neighbour.name);
    for (const char* key : {"controller_address", "device_address"}) {
        if (!section->has(key)) section->missing(key, "\"0x0030\"");
    }
    neighbour.controller_address = read_address(*section, "controller_address", 2);
    neighbour.device_address = read_address(*section, "device_address", 3);
    section->finish();
    if (top.problems().any()) return;

    const proto::Profile& profile = scenario.controller.link.profile;
    const std::uint64_t largest = (std::uint64_t{1} << profile.address.bits) - 1;
    const std::array<std::pair<const char*, std::uint32_t>, 2> typed{
        {{"controller_address", neighbour.controller_address}, {"device_address", neighbour.device_address}}};
    for (const auto& [key, address] : typed) {
        if (profile.address.presence != proto::Presence::absent && address > largest) {
            section->say(key, too_wide(address, scenario.controller, largest));
        }
        for (const TypedEnd* end : {&scenario.controller, &scenario.device}) {
            if (address != end->link.own_address) continue;
            section->say(key, written_hex(address, 4) + " is the address of " + end->name +
                                  ": two links with one address; write another");
        }
    }
    if (neighbour.controller_address == neighbour.device_address) {
        section->say("device_address", "both ends of the neighbour have the address " +
                                           written_hex(neighbour.device_address, 4) + "; write two different ones");
    }
    if (!top.problems().any()) check_aliases(scenario, neighbour, *section);
    scenario.neighbour = neighbour;
}

}  // namespace sim
