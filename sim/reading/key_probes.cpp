// Files made so that their readers ask for every key that they know: one form of a table after the other, and no
// profile, so that nothing is held against a particular telegram. A key that is asked for only beside another one needs
// that other one here. tests/sim/reading/keys_test.cpp finds what is missing.
#include <array>

#include "sim/reading/heard_keys.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read_drill.hpp"

namespace sim {
namespace {

constexpr const char* one_link = R"(
title = "one link"
duration = "24 h"
[link]
exchange = "streaming"
cycle = "10 ms"
watchdog = "45 ms"
[controller]
address = 1
bits = { s = "0.0" }
values = { v = { at = 2 } }
network = { ip = "192.0.2.1" }
[device]
address = 2
bits = { s = "0.0" }
values = { v = { at = 2 } }
network = { ip = "192.0.2.2" }
[bits]
s = "0.0"
[values]
v = { at = 2 }
[[safeguard]]
name = "g"
at = "device"
[[mode]]
name = "m"
[[signal]]
name = "s"
direction = "to-controller"
all_of = ["g"]
muted_by = { sensors = ["g", "g"], order_within = "1 s", at_most = "1 s" }
[machine]
at = "controller"
speed = "100 mm/s"
reduced_speed = "10 mm/s"
braking = "100 mm/s2"
travel = "400 mm"
reaction = [{ signal = "s", stop = "category-0" }]
brake = { delay = "1 ms" }
reduced_speed_monitored = { over = "1 mm/s", for = "1 ms", then = "category-0" }
[[function]]
name = "f"
safeguards = ["g"]
must = [{ must = "category-0" }]
distance = { edition = "2010", case = "mat" }
[[function]]
name = "h"
safeguards = ["g"]
must = "category-0"
[required]
[distance]
[stopping]
[[part]]
[limit]
[[demand]]
safeguard = "g"
at = "1 s"
[[operator]]
on = "link-running"
does = "acknowledge"
[neighbour]
controller_address = 3
device_address = 4
[[value]]
name = "v"
direction = "to-controller"
type = "u16"
at = 2
scale = "1 mm/s"
safe = "low"
substitute = "0 mm/s"
is = "0 mm/s"
[[value]]
name = "w"
direction = "to-controller"
type = "u16"
at = 4
scale = "1 mm/s"
safe = "low"
substitute = "0 mm/s"
over_time = [{ at = "0 s", is = "0 mm/s" }]
[[value]]
name = "x"
direction = "to-device"
type = "u16"
at = 6
scale = "1 mm/s"
safe = "low"
substitute = "0 mm/s"
by_machine = { stands = "0 mm/s", full = "1 mm/s" }
[[value]]
name = "y"
direction = "to-device"
type = "u16"
at = 2
scale = "1 mm/s"
safe = "low"
substitute = "0 mm/s"
from = "v"
[[fault]]
way = "random-bits"
after_demand = "g"
offset = "1 s"
expect = { outcome = "tolerated" }
[[fault]]
way = "drop"
before_demand = "g"
from_position = "0 mm"
to_position = "1 mm"
[[fault]]
way = "clock-drift"
at_end = "device"
at = "1 s"
drift_ppm = 1
)";

/// Forms of what a channel does; in each file it does the same both ways and each way.
constexpr std::array channels{
    R"(delay = { from = "1 ms", to = "2 ms" }
loss = { good_to_bad = 0.1, bad_to_good = 0.1 }
queue = { service = "1 ms", background = "bursts", load = 0.5, ramp = { to = 1, at = "1 s" } })",
    R"(delay = { histogram = [["1 ms", "2 ms", 1]] })",
    R"(delay = { preset = "5g-campus" })",
    R"(delay = { shape = "normal" })",
    R"(delay = { shape = "lognormal" })",
    R"(delay = { shape = "gamma" })",
    R"(delay = { file = "no.such" })",
    R"(delay = { capture = 1 })"};

constexpr const char* several_links = R"(
title = "several links"
duration = "24 h"
[controller]
address = 1
scan = "5 ms"
[[link]]
name = "l"
exchange = "streaming"
cycle = "10 ms"
watchdog = "45 ms"
device = { address = 2, name = "d", bits = { s = "0.0" }, values = { v = { at = 2 } }, network = { ip = "192.0.2.2" } }
bits = { s = "0.0" }
values = { v = { at = 2 } }
neighbour = { controller_address = 3, device_address = 4 }
required = {}
limit = {}
part = [{}]
[link.controller]
bits = { s = "0.0" }
values = { v = { at = 2 } }
network = { peer_ip = "192.0.2.2" }
@CHANNEL@
[[link]]
name = "k"
exchange = "polled"
cycle = "10 ms"
watchdog = "45 ms"
device = { address = 5, name = "e" }
[[safeguard]]
name = "g"
at = "d"
[[signal]]
name = "s"
link = "l"
direction = "to-controller"
all_of = ["g"]
[[value]]
name = "v"
link = "l"
direction = "to-controller"
type = "u16"
at = 2
scale = "1 mm/s"
safe = "low"
substitute = "0 mm/s"
is = "0 mm/s"
[[machine]]
name = "m"
at = "d"
speed = "100 mm/s"
braking = "100 mm/s2"
reaction = [{ signal = "s", stop = "category-0" }]
brake = { delay = "1 ms" }
reduced_speed_monitored = { over = "1 mm/s", for = "1 ms", then = "category-0" }
stopping = {}
[[function]]
name = "f"
safeguards = ["g"]
machine = "m"
must = "category-0"
distance = { edition = "2010", case = "mat" }
[[function]]
name = "h"
safeguards = ["g"]
must = [{ machine = "m", must = "category-0" }]
[[segment]]
name = "hall"
source = "a drawing"
links = ["l"]
[limit]
[[operator]]
at = "1 s"
does = "start-machine"
machine = "m"
[[operator]]
at = "1 s"
does = "acknowledge"
link = "l"
[[fault]]
link = "l"
way = "swap"
at = "1 s"
other_link = "k"
)";

constexpr const char* profile = R"(
crc = { width = 32, polynomial = "0xF4ACFB13" }
address = { presence = "carried", bits = 16 }
sequence = { presence = "carried", bits = 16 }
time_stamp = { bits = 16 }
)";

constexpr const char* drill = R"(
secure = [{}]
right = {}
half = {}
needed = [{}]
helpful = [{}]
no_help = [{}]
danger = [{}]
[scenario]
[expect]
controller = {}
device = {}
[expect.link.l]
controller = {}
device = {}
)";

std::string channel_of(const std::string& link, const char* does) {
    std::string text;
    for (const char* way : {"channel]", "channel.to_device]", "channel.to_controller]"})
        text += "[" + link + way + "\n" + does + "\n";
    return text;
}

void hear_scenarios(KeyEars& ears) {
    constexpr std::string_view mark = "@CHANNEL@";
    hear_keys(one_link, "", ears);
    for (const char* does : channels) {
        hear_keys("title = \"channels\"\nduration = \"24 h\"\n[controller]\n[device]\n" + channel_of("", does), "",
                  ears);
        std::string text = several_links;
        hear_keys(text.replace(text.find(mark), mark.size(), channel_of("link.", does)), "", ears);
    }
}

constexpr const char* module = R"(
to_device = 4
to_controller = 4
[[field]]
type = "bit"
at = "0.0"
[[field]]
type = "u16"
at = 2
)";

void hear_drill(KeyEars& ears) {
    const auto document = document_from(drill, "drill");
    for (const std::vector<std::string>& links : {std::vector<std::string>{}, {"l"}}) {
        Problems problems("drill");
        problems.tell(&ears);
        Section top(document.value(), "", problems);
        Drill read;
        read_drill_keys(top, {}, links, read);
    }
}

}  // namespace

HeardKeys keys_of(KeysOf file) {
    HeardKeys keys;
    switch (file) {
        case KeysOf::scenario: hear_scenarios(keys); break;
        case KeysOf::profile: hear_keys(profile, "", keys); break;
        case KeysOf::module: hear_keys(module, "", keys); break;
        case KeysOf::drill: hear_drill(keys); break;
    }
    return keys;
}

}  // namespace sim
