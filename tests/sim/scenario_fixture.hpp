#pragma once
// A scenario with every key, and a folder to read what is made of it, for the tests of the readers.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace scenario_test {

inline constexpr const char* base = R"(title = "Test press"
shows = "All keys."
plant = "veneer press"
seed = 7
duration = "20 s"
expect_verdict = "pass"
[link]
exchange = "polled"
profile = "plain"
cycle = "10 ms"
watchdog = "45 ms"
payload = 8
claimed_sil = 3
reaction = "discard"
error_interval = "6 min"
byte_order = "high-first"
[controller]
name = "press controller"
address = "0x0010"
[device]
name = "press I/O"
address = 0x21
peer_address = "0x0010"
scan = "2 ms"
phase = "0.7 ms"
device_watchdog = "50 ms"
[neighbour]
name = "press 2"
controller_address = "0x0012"
device_address = "0x0023"
[channel]
delay = "0.4 ms"
loss = 1e-4
keep_order = false
[channel.to_device]
delay = { from = "0.2 ms", to = "0.4 ms" }
[channel.to_controller]
delay = { histogram = [["0.1 ms", "0.3 ms", 10], ["1 ms", "2 ms", 0]] }
bit_error_rate = 1e-9
[[safeguard]]
name = "curtain"
at = "device"
delay = "20 ms"
minimum_hold = "0.2 s"
[[safeguard]]
name = "rope"
at = "controller"
[[signal]]
name = "curtain_free"
direction = "to-controller"
all_of = ["curtain"]
[[signal]]
name = "closing"
direction = "to-device"
all_of = ["curtain_free", "rope"]
[[signal]]
name = "rope_free"
direction = "to-device"
all_of = "rope"
[bits]
curtain_free = "0.0"
closing = "0.1"
rope_free = "0.2"
[device.bits]
closing = "1.7"
[machine]
name = "press"
at = "device"
reaction_delay = "30 ms"
speed = "60 mm/s"
reduced_speed = "0.01 m/s"
braking = "600 mm/s2"
ramp = "0.3 m/s2"
[[machine.reaction]]
signal = "closing"
stop = "category-1"
[required]
to_device = "110 ms"
to_controller = "120 ms"
[[demand]]
safeguard = "curtain"
at = "1 s"
lasting = "0.3 s"
[[operator]]
on = "acknowledgement-requested"
after = "0.3 s"
does = "acknowledge"
[[operator]]
at = "3 s"
does = "start-machine"
[[fault]]
error = "corruption"
way = "random-bits"
count = 3
field = "payload"
direction = "to-controller"
on_telegram = 200
times = 4
every = 2
expect = { outcome = "safe-state", detected_by = ["integrity", "none"], at = "controller" }
[[fault]]
way = "step"
at = "5 s"
lasting = "0.2 s"
extra = "40 ms"
keep_order = false
direction = "both"
)";

inline constexpr const char* plain_profile = R"(name = "plain"
payload = 8
address = { presence = "carried", bits = 16 }
sequence = { presence = "carried", bits = 16 }
direction = "carried"
crc = { width = 32, polynomial = "0xF4ACFB13", initial = "0xFFFFFFFF", final_xor = "0xFFFFFFFF" }
)";

/// A folder that goes with the test.
class Folder {
  public:
    Folder()
        : path_(std::filesystem::temp_directory_path() /
                ("linkdrill_scenario_test_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)))) {
        std::filesystem::remove_all(path_);
        std::filesystem::create_directories(path_ / "profiles");
        write("profiles/plain.toml", plain_profile);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
    void write(const std::string& name, std::string_view text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
    }

  private:
    std::filesystem::path path_;
};

/// `text` with the first `from` replaced, which must be there.
inline std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE_MESSAGE(at != std::string::npos, from);
    return text.replace(at, from.size(), to);
}

inline int line_of(const std::string& text, const std::string& part) {
    const std::size_t at = text.find(part);
    REQUIRE_MESSAGE(at != std::string::npos, part);
    return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

/// "LINE: key: message" of a scenario text, without the file; empty if it is right.
inline std::string complaint(const Folder& folder, const std::string& text) {
    folder.write("plant.toml", text);
    const auto read = sim::read_scenario(folder.file("plant.toml"));
    if (read) return "";
    const std::string line = read.error().one_line();
    CHECK(line.find('\n') == std::string::npos);
    return line.starts_with(folder.file("plant.toml:")) ? line.substr(folder.file("plant.toml:").size()) : line;
}

/// The part behind "LINE: ".
inline std::string said(const std::string& text) {
    const Folder folder;
    const std::string line = complaint(folder, text);
    return line.empty() ? line : line.substr(line.find(": ") + 2);
}

}  // namespace scenario_test
