// A broken contract names the scenario and the seed, whatever was simulated: seen in a child process, which it ends.
#include "sim/scenario/contract_context.hpp"

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <string>

#include "proto/contract.hpp"
#include "sim/drive/campaign.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/studies/worst_seen.hpp"
#include "tests/support/scenarios.hpp"

namespace {

/// What `work` leaves on standard error if it ends by a broken contract; else a word that says so.
template <class Work>
std::string last_words(Work work) {
    std::array<int, 2> ends{};
    if (pipe(ends.data()) != 0) return "no pipe";
    const pid_t child = fork();
    if (child == 0) {
        const rlimit no_core{0, 0};
        setrlimit(RLIMIT_CORE, &no_core);
        std::signal(SIGABRT, SIG_DFL);  // doctest's own handler would report it as a crash of the test
        dup2(ends[1], STDERR_FILENO);
        work();
        _exit(0);
    }
    close(ends[1]);
    std::string said;
    std::array<char, 512> part{};
    for (ssize_t got = 0; (got = read(ends[0], part.data(), part.size())) > 0;)
        said.append(part.data(), static_cast<std::size_t>(got));
    close(ends[0]);
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child) return "no child";
    return WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT ? said : "did not break: " + said;
}

void check_named(const std::string& said, const std::string& what) {
    INFO(said);
    CHECK(said.find("(" + what + ")") != std::string::npos);
}

/// No endpoint takes these settings.
sim::Scenario impossible() {
    sim::Scenario scenario = tests::polled_link();
    scenario.file = "impossible.toml";
    tests::both_ends(scenario, [](proto::LinkSettings& link) { link.watchdog = link.peer_watchdog = {}; });
    return scenario;
}

struct Nobody final : sim::CampaignSink {
    bool take(const sim::TrialBatch&) override { return true; }
    bool go_on() override { return true; }
};

TEST_CASE("the innermost context is named, then the one around it, then none") {
    const auto breaks = [] { proto::require(false, "broken on purpose"); };
    check_named(last_words([&] {
                    const sim::ContractContext outer("plant.toml", 7);
                    const sim::ContractContext inner("cell.toml", 8);
                    breaks();
                }),
                "scenario cell.toml, seed 8");
    check_named(last_words([&] {
                    const sim::ContractContext outer("plant.toml", 7);
                    { const sim::ContractContext inner("cell.toml", 8); }
                    breaks();
                }),
                "scenario plant.toml, seed 7");
    const std::string alone = last_words([&] {
        { const sim::ContractContext outer("plant.toml", 7); }
        breaks();
    });
    CHECK(alone.find("broken on purpose; please report") != std::string::npos);
}

TEST_CASE("a contract broken in a rehearsal, a study, a search or a campaign's trial names scenario and seed") {
    const sim::Scenario scenario = impossible();
    check_named(last_words([&] { sim::rehearse(scenario, 77); }), "scenario impossible.toml, seed 77");
    check_named(last_words([&] { sim::study_acceptance(scenario, 78); }), "scenario impossible.toml, seed 78");
    check_named(last_words([&] { sim::search_worst(scenario, {.placings = 100}); }),
                "scenario impossible.toml, seed 1");
    check_named(last_words([&] {
                    Nobody nobody;
                    sim::Scenario faulty = scenario;
                    faulty.faults = {tests::fault_of(sim::FaultWay::drop)};
                    sim::run_campaign({faulty, 79, 0, 1, 1}, nobody);
                }),
                "scenario impossible.toml, seed 79");
}

}  // namespace
