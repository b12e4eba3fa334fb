// The settings of a link, and its channel.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow top_rows[] = {
    {"title", "one line", "needed"},
    {"shows", "one or two sentences", "empty"},
    {"plant", "what stands there", "empty"},
    {"seed", "of everything random, 0 to 2^63 - 1", "1"},
    {"duration", "of the run, at most 24 h", "needed"},
    {"expect_verdict", R"(`"pass"`, `"fail"` or `"dangerous"`)", R"(`"pass"`)"},
};

constexpr KeyRow link_rows[] = {
    {"exchange", R"(`"polled"` or `"streaming"`)", "needed"},
    {"profile",
     "name of a profile in a folder `profiles` beside the file or up to two folders above, or a path ending in "
     "`.toml`, from the file's folder",
     "needed"},
    {"cycle", "of the exchange, 0.1 ms to 10 s, whole microseconds", "needed"},
    {"watchdog", "of both ends, more than a cycle", "needed"},
    {"controller_watchdog device_watchdog", "of one end; each end is typed both", "`watchdog`"},
    {"payload", "bytes both ways, 1 to 250", "the profile's"},
    {"payload_to_device payload_to_controller", "bytes one way", "`payload`"},
    {"byte_order", R"(`"high-first"`, or `"low-first"`: each pair of payload bytes exchanged)", R"(`"high-first"`)"},
    {"claimed_sil", "claimed safety integrity level, 1 to 4", "2"},
    {"reaction", R"(to a rejected telegram: `"trip"`, or `"discard"` unless another came within `error_interval`)",
     R"(`"trip"`)"},
    {"error_interval", "for `discard`", R"(`"6 min"`)"},
    {"answers",
     R"(polled device that finds several telegrams in one scan: `"each"` is answered, all under the newest number, or there is `"one-a-scan"`, which stops the link far more often where answers are lost: take what its manual says)",
     R"(`"each"`)"},
    {"missing_allowed", "streaming: numbers that may be missing in a row; with 2, 44 may follow 41", "0"},
    {"max_lag", "streaming with feedback: how far the fed-back number may lie behind the own", "none"},
    {"max_age",
     "with time stamps: longest round trip (`echo`), or highest age of one way (`clock`); the round trip of the start "
     "must be shorter too",
     "needed with time stamps"},
    {"max_early",
     "with `clock` stamps: how far an age may lie below 0; at least half a round trip, since the offset of the clocks "
     "is no better known",
     "needed with `clock` stamps"},
};

constexpr KeyRow end_rows[] = {
    {"name", R"(by its place in the plant: `"press I/O"`)", R"(`"controller"`, `"device"`)"},
    {"address", "its own", "needed"},
    {"peer_address", "of the other end, as typed here", "what the other end has as its own"},
    {"role", R"(what it was told to be, `"controller"` or `"device"`: the wrong one at one end rehearses that mistake)",
     "what the table says"},
    {"scan", "its own scan; the controller scans in the cycle", "the cycle", "`scan` (device)"},
    {"phase", "of its first scan after the controller's, less than a scan", R"(`"0 ms"`)", "`phase` (device)"},
};

constexpr KeyRow network_rows[] = {
    {"ip", R"(of this end: `"192.0.2.10"`, no 0 in front of a number)", "not compared"},
    {"mask", R"(of its subnet: `"255.255.255.0"` or `"/24"`)", "not compared"},
    {"gateway", "where it sends what is not in its subnet", "none"},
    {"station", "its name, as typed, blanks and capitals too", "not compared"},
    {"peer_ip peer_station", "of the other end, as this one believes", "not compared"},
};

constexpr KeyRow fitted_rows[] = {
    {"module",
     "name of a file in a folder `modules` beside the file or up to two folders above, or of one that ships, or a path "
     "ending in `.toml`: as a profile is found",
     "not compared"},
    {"slot", "0 to 65535", "not compared"},
    {"firmware checksum", "of this end, the checksum of its safety program: free text, printed on the link sheet",
     "not compared"},
    {"peer_firmware peer_checksum", "of the other end, as this one believes; compared with what is typed there",
     "not compared"},
};

constexpr KeyRow channel_rows[] = {
    {"delay", R"(`"0.4 ms"`, or a table, see below)", R"(`"0 ms"`)"},
    {"loss", "probability for each telegram, or a table for losses in bursts, see below", "0"},
    {"queue", "a wait behind other traffic, before the delay, see below", "none"},
    {"bit_error_rate", "probability for each bit", "0"},
    {"keep_order", "`false`: telegrams with shorter delays overtake", "`true`"},
};

constexpr KeyRow capture_rows[] = {
    {"at_device",
     R"(a second capture, taken at the device's port while the first one was: `"press_device.pcapng"`. From each round trip is taken off what lies there from the request coming in to the answer going out, found by the same bytes, in order. The clocks of the two need not agree)",
     "none"},
    {"subtract",
     "what the device takes at least from a request to its answer: taken off each round trip, which becomes no less "
     "than 0. What it takes beyond that is still in the times",
     "none"},
};

constexpr KeyRow queue_rows[] = {
    {"service", "time for one packet, 1 us to 1 s; also the slot in which other traffic is counted", "needed"},
    {"background",
     R"(`"constant"`: evenly, nothing random; `"bursts"`: in each slot a burst with the probability load / burst)",
     "needed"},
    {"load",
     "share of the server's time that the other traffic asks for, 0 to 16; above 1 the queue grows by load - 1 in each "
     "unit of time: a delay that creeps",
     "needed"},
    {"burst", "`bursts`: packets in a burst, 1 to 65536", "10"},
    {"room", "work that may wait; what does not fit is lost", R"(`"50 ms"`)"},
    {"ramp", R"(`{ to = 1.05, at = "2 s", lasting = "5 s" }`: the load goes straight over to another value)", "none"},
};

constexpr KeyRow link_inside[] = {
    {"link", "what both ends are given alike", "each end has all of its own"},
    {"controller", "what was typed at this end; stands before `[link]`", "needed"},
    {"device", "what was typed at this end; stands before `[link]`",
     "needed, below each `[[link]]` if there are several"},
    {"end.network", "where this end is in the network", "not compared"},
    {"bits", "where each signal lies in the payload, at both ends", "none"},
    {"end.bits", "where signals lie, as typed at this end; stands before `[bits]`", "`[bits]`"},
    {"bits.*", R"(place of the signal of that name, `"byte.bit"`)", ""},
    {"values", "where a value lies otherwise than `[[value]]` says, at both ends", "none"},
    {"end.values", "the same as typed at this end; stands before `[values]`", "`[values]`"},
    {"values.*", "the value of that name: only what differs", ""},
    {"values.*.type values.*.at values.*.order values.*.scale", "as of a `[[value]]`", "that of `[[value]]`"},
    {"channel", "what lies between the two ends, both ways", "nothing is late, lost or bent"},
    {"channel.to_device channel.to_controller", "the same for this way; stands before `[channel]`", "`[channel]`"},
    {"channel.delay.from channel.delay.to", "the ends of an even spread", "needed for it"},
    {"channel.delay.histogram", R"(rows `["0.1 ms", "0.3 ms", 10]`: from, to, weight; at most 4096)", "needed for it"},
    {"channel.delay.shape", "the formula of a distribution", "needed for it"},
    {"channel.delay.mean", "of `normal` and `gamma`", "needed there"},
    {"channel.delay.deviation", "of `normal`", "needed there"},
    {"channel.delay.floor", "of `normal`: nothing lies below", R"(`"0 ms"`)"},
    {"channel.delay.offset", "added to what the formula gives, or to what a capture shows", R"(`"0 ms"`)"},
    {"channel.delay.median", "of `lognormal`, without `offset`", "needed there"},
    {"channel.delay.sigma", "of `lognormal`: deviation of the logarithm", "needed there"},
    {"channel.delay.alpha", "of `gamma`: its shape; 1 is exponential, more is narrower", "needed there"},
    {"channel.delay.preset", "an illustrative network; none describes yours", "needed for it"},
    {"channel.delay.file", "a CSV file of measured times beside the scenario", "needed for it"},
    {"channel.delay.no_answer", "what a cell without a time is taken for", R"(`"refuse"`)"},
    {"channel.delay.tail", "what lies beyond the longest measured time", R"(`"as-seen"`)"},
    {"channel.delay.split", "which way has all that varies of a round trip", R"(`"out"`)"},
    {"channel.delay.blocks_of", "so many telegrams in a row keep the order of the measured times",
     "each delay is drawn alone"},
    {"channel.delay.capture", "a pcap or pcapng file beside the scenario", "needed for it"},
    {"channel.delay.use", "what is taken from the capture", R"(`"round-trips"`)"},
    {"channel.delay.port", "of the flow in the capture", "the flow with the most packets"},
    {"channel.loss.good_to_bad channel.loss.bad_to_good", "probability of this change of state after each telegram",
     "needed"},
    {"channel.loss.in_good", "probability of a loss in the good state", "`0`"},
    {"channel.loss.in_bad", "probability of a loss in the bad state", "`1`"},
    {"channel.queue.ramp.to", "load at the end of the ramp", "needed"},
    {"channel.queue.ramp.at", "run time at which the ramp begins", "needed"},
    {"channel.queue.ramp.lasting", "how long the ramp takes", R"(`"0 ms"`)"},
    {"neighbour", "another link on the same channel, whose telegrams may go astray", "none"},
    {"neighbour.name", "what people call it", R"(`"neighbour link"`)"},
    {"neighbour.controller_address neighbour.device_address", "of that end of the neighbour", "needed"},
};

constexpr KeyTable tables[] = {{"top", "", "key | meaning | default", top_rows},
                               {"link", "link.", "key | meaning | default", link_rows},
                               {"end", "end.", "key | meaning | default", end_rows},
                               {"network", "end.network.", "key | meaning | default", network_rows},
                               {"fitted", "link.", "key | meaning | default", fitted_rows},
                               {"channel", "channel.", "key | meaning | default", channel_rows},
                               {"capture", "channel.delay.", "key | meaning | default", capture_rows},
                               {"queue", "channel.queue.", "key | meaning | default", queue_rows},
                               {"", "", "", link_inside}};

}  // namespace

std::span<const KeyTable> words_of_link() { return tables; }

}  // namespace sim
