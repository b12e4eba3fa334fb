// A full room: thirty trainees, each at a drill of their own on a link with a cycle of 4 ms, each with an event stream
// over a socket of this machine. `behind_ms`: how old what a page would show is, the median and the 95th percentile
// over time and trainees; between two events it grows older by itself. `arrival_ms`: the same at the moment of arrival.
// `cores`: processor time of trainer and server over wall time, without the thirty readers. `kb_each`: memory for one
// more trainee. A browser's drawing is not in it; tests/browser/train.sh prints that.
#include <arpa/inet.h>
#include <benchmark/benchmark.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <fstream>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "tools/training/trainer.hpp"

namespace {

constexpr auto looked_at_for = std::chrono::seconds(10);
constexpr auto settles_in = std::chrono::seconds(2);

double now(clockid_t clock) {
    timespec t{};
    clock_gettime(clock, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}
double epoch_ms() { return now(CLOCK_REALTIME) * 1e3; }

std::string hex_text() {
    static std::mt19937_64 draws(1);
    char text[33];
    std::snprintf(text, sizeof text, "%016llx%016llx", static_cast<unsigned long long>(draws()),
                  static_cast<unsigned long long>(draws()));
    return text;
}

double resident_kb() {
    std::ifstream status("/proc/self/status");
    for (std::string line; std::getline(status, line);)
        if (line.starts_with("VmRSS:")) return std::strtod(line.c_str() + 6, nullptr);
    return 0;
}

/// One drill, as fast as a link is.
sim::DrillSet fast_drill() {
    auto read = sim::read_drills(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/drills");
    if (!read) {
        std::fprintf(stderr, "%s\n", read.error().message.c_str());
        std::abort();
    }
    sim::DrillSet set = std::move(read.value());
    std::erase_if(set.drills, [](const sim::Drill& drill) { return drill.number != 20; });
    for (sim::TypedEnd* const end : {&set.drills.front().scenario.controller, &set.drills.front().scenario.device}) {
        end->link.cycle = proto::milliseconds(4);
        if (end->link.scan > end->link.cycle) end->link.scan = end->link.cycle;
    }
    return set;
}

class Connection {
  public:
    explicit Connection(std::uint16_t port) : socket_(socket(AF_INET, SOCK_STREAM, 0)) {
        sockaddr_in to{};
        to.sin_family = AF_INET;
        to.sin_port = htons(port);
        to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        const timeval patience{2, 0};
        setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
        if (connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0) std::abort();
    }
    ~Connection() { close(socket_); }
    Connection(const Connection&) = delete;
    Connection& operator=(const Connection&) = delete;
    void say(const std::string& text) const { (void)!write(socket_, text.data(), text.size()); }
    /// False at the end.
    bool hear(std::string& into) const {
        char some[65536];
        const ssize_t count = read(socket_, some, sizeof some);
        if (count > 0) into.append(some, static_cast<std::size_t>(count));
        return count > 0;
    }

  private:
    int socket_;
};

struct Reader {
    std::string session;
    std::vector<double> arrival, behind;  ///< ms
    double processor = 0;                 ///< s
    std::size_t bytes = 0;                ///< while it counts
};

/// Reads one event stream until `over`; `counts`: what comes is counted.
void read_events(Reader& reader, std::uint16_t port, const std::atomic<bool>& counts, const std::atomic<bool>& over) {
    const double begun = now(CLOCK_THREAD_CPUTIME_ID);
    const Connection connection(port);
    connection.say("GET /api/events HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) +
                   "\r\nCookie: linkdrill_session_" + std::to_string(port) + "=" + reader.session + "\r\n\r\n");
    std::string heard;
    double told_before = 0, came_before = 0;
    for (std::size_t kept = 0; !over && connection.hear(heard); kept = heard.size()) {
        if (counts) reader.bytes += heard.size() - kept;
        const double came = epoch_ms();
        const std::size_t end = heard.rfind("\n\n");
        if (end == std::string::npos) continue;
        const std::size_t told_at = heard.rfind("\"told_ms\":", end);
        if (told_at == std::string::npos) continue;
        // whole at first, then as what changed: [0, the new one]
        const std::size_t from = heard.find_first_of("123456789", told_at + 10);
        const double told = std::strtod(heard.c_str() + from, nullptr);
        heard.erase(0, end + 2);
        if (counts) {
            reader.arrival.push_back(came - told);
            for (double t = came_before; told_before > 0 && t < came; t += 2.0)
                reader.behind.push_back(t - told_before);
        }
        told_before = told;
        came_before = came;
    }
    reader.processor = now(CLOCK_THREAD_CPUTIME_ID) - begun;
}

double quantile(std::vector<double>& values, double share) {
    if (values.empty()) return 0;
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

/// Of one more trainee, who looks at every instrument.
std::string session_at_drill(tools::Trainer& trainer) {
    const tools::WebReply joined =
        trainer.answer({.method = "POST", .path = "/api/join", .fields = {{"name", "x"}}, .session = "", .token = ""});
    const std::string token = joined.body.substr(joined.body.find(R"("token": ")") + 10, 32);
    tools::WebRequest begin{
        .method = "POST", .path = "/api/start", .fields = {{"drill", "20"}}, .session = joined.session, .token = token};
    if (trainer.answer(begin).status != 200) std::abort();
    for (const char* act : {"controller-panel", "io-panel", "time-line", "telegrams", "settings", "neighbour"}) {
        begin.path = "/api/act";
        begin.fields = {{"act", "instrument"}, {"value", act}};
        // a link that does not run would cost nothing
        const tools::WebReply reply = trainer.answer(begin);
        if (reply.status != 200 ||
            (std::string_view(act) == "io-panel" && reply.body.find(R"("state": "running")") == std::string::npos))
            std::abort();
    }
    return joined.session;
}

void training_full_room(benchmark::State& state) {
    for (auto _ : state) {
        tools::TrainingStore store(std::nullopt);
        tools::Trainer trainer(
            fast_drill(), {.secret = "x", .code = std::nullopt}, store,
            {.now = [] { return proto::Instant{static_cast<std::int64_t>(now(CLOCK_MONOTONIC) * 1e9)}; },
             .epoch_ms = [] { return static_cast<std::int64_t>(epoch_ms()); },
             .random = hex_text});
        std::vector<Reader> readers(tools::Trainer::places);
        const double before_kb = resident_kb();
        for (Reader& reader : readers) reader.session = session_at_drill(trainer);
        const double each_kb = (resident_kb() - before_kb) / static_cast<double>(readers.size());
        std::atomic<bool> counts = false, over = false;
        std::atomic<std::uint16_t> port = 0;
        std::thread server([&] {
            const auto failure = tools::serve(
                trainer, {.listen = "127.0.0.1", .port = 0}, [&](std::uint16_t found) { port = found; },
                [&] { return over.load(); });
            if (failure) std::abort();
        });
        std::thread runner([&] {
            while (!over) {
                trainer.run_on();
                std::this_thread::sleep_for(std::chrono::milliseconds(20));
            }
        });
        while (port == 0) std::this_thread::yield();
        const double begun = now(CLOCK_MONOTONIC), processor = now(CLOCK_PROCESS_CPUTIME_ID);
        std::vector<std::thread> threads;
        threads.reserve(readers.size());
        for (Reader& reader : readers) threads.emplace_back([&] { read_events(reader, port, counts, over); });
        std::this_thread::sleep_for(settles_in);
        counts = true;
        std::this_thread::sleep_for(looked_at_for);
        over = true;
        for (std::thread& thread : threads) thread.join();
        runner.join();
        server.join();
        double spent = now(CLOCK_PROCESS_CPUTIME_ID) - processor;
        const double wall = now(CLOCK_MONOTONIC) - begun;
        std::vector<double> arrival, behind;
        double bytes = 0;
        for (Reader& reader : readers) {
            spent -= reader.processor;
            bytes += static_cast<double>(reader.bytes);
            arrival.insert(arrival.end(), reader.arrival.begin(), reader.arrival.end());
            behind.insert(behind.end(), reader.behind.begin(), reader.behind.end());
        }
        state.counters["behind_ms"] = quantile(behind, 0.5);
        state.counters["behind_ms_95"] = quantile(behind, 0.95);
        state.counters["arrival_ms"] = quantile(arrival, 0.5);
        state.counters["arrival_ms_95"] = quantile(arrival, 0.95);
        state.counters["events"] = static_cast<double>(arrival.size());
        state.counters["cores"] = spent / wall;
        state.counters["kb_each"] = each_kb;
        state.counters["mbit_s"] = bytes * 8e-6 / std::chrono::duration<double>(looked_at_for).count();
    }
}
BENCHMARK(training_full_room)->Name("training/full_room")->Iterations(1)->UseRealTime()->Unit(benchmark::kSecond);

}  // namespace
