// linkdrill train: the training pages, until Ctrl-C; or a look at what they kept.
#include <arpa/inet.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <system_error>

#include "sim/reading/read_drill.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/training/drill_check.hpp"
#include "tools/program/command.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/secret.hpp"
#include "tools/training/trainer.hpp"
#include "tools/training/verify_records.hpp"
#include "tools/web/beat.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

std::string token() { return secret_text("0123456789abcdef", 32); }

/// Where the drills lie: as named, here, or where those lie that come with linkdrill.
std::string drills_folder(const Arguments& arguments) {
    if (const auto named = arguments.value("--drills")) return *named;
    std::error_code error;
    const fs::path here = "scenarios/drills";
    if (fs::exists(here / "actions.toml", error)) return here.string();
    const std::string& shipped = sim::shipped_scenarios();
    return shipped.empty() ? here.string() : shipped + "/drills";
}

/// Drills that do not show what they promise, with the reasons.
std::map<unsigned, std::vector<std::string>> broken_of(const sim::DrillSet& set) {
    std::map<unsigned, std::vector<std::string>> all;
    for (const sim::Drill& drill : set.drills) {
        std::vector<std::string> broken = sim::broken_promises(drill, *sim::bench_of(drill, drill.scenario.seed));
        for (const sim::Drill& variant : drill.variants)
            for (std::string& one : sim::broken_promises(variant, *sim::bench_of(variant, variant.scenario.seed)))
                broken.push_back("a variant: " + std::move(one));
        if (!broken.empty()) all.emplace(drill.number, std::move(broken));
    }
    return all;
}

void say_broken(const sim::DrillSet& set, const std::map<unsigned, std::vector<std::string>>& broken) {
    for (const auto& [number, why] : broken) {
        const sim::Drill& drill = *set.find(number);
        std::printf("Broken     drill %u, %s: it is not scored, and in no exam. %s%s. See linkdrill check %s\n", number,
                    drill.title.c_str(), why.front().c_str(),
                    why.size() > 1 ? (", and " + std::to_string(why.size() - 1) + " more").c_str() : "",
                    drill.file.c_str());
    }
}

/// What trainees type into a browser, with the port that was found free.
std::string reached_at(const WebAddress& address, std::uint16_t port) {
    return "http://" + (address.listen == "0.0.0.0" ? "ADDRESS-OF-THIS-MACHINE" : address.listen) + ":" +
           std::to_string(port) + "/";
}

/// At once, not as a page at the end: it is needed while the training runs.
void say_where(const WebAddress& address, std::uint16_t port, std::size_t drills, const TrainerSettings& settings,
               const Arguments& arguments) {
    std::printf("Training   %s   %zu drills\n", reached_at(address, port).c_str(), drills);
    if (settings.code) std::printf("Code       %s\n", settings.code->c_str());
    const bool here = address.listen.starts_with("127.");
    std::printf("Instructor http://%s:%s/instructor#%s\n", here ? address.listen.c_str() : "127.0.0.1",
                std::to_string(port).c_str(), settings.secret.c_str());
    std::printf("Results    %s\n", arguments.value("--store").value_or("not kept after the end; --store FILE").c_str());
    std::printf("Drills     %s\n", drills_folder(arguments).c_str());
    std::printf("Ctrl-C ends it.\n");
    std::fflush(stdout);
}

proto::Result<Finished, Failure> train(const Request& request) {
    const Arguments& arguments = request.arguments;
    const auto port = arguments.number("--port", 0, 65535);
    if (!port) return port.error();
    WebAddress address;
    address.port = static_cast<std::uint16_t>(port.value().value_or(8080));
    address.listen = arguments.value("--listen").value_or("127.0.0.1");
    in_addr unused{};
    if (inet_pton(AF_INET, address.listen.c_str(), &unused) != 1)
        return usage("--listen",
                     "\"" + address.listen + "\" is no IPv4 address; write one of this machine, or leave it");

    auto drills = sim::read_drills(drills_folder(arguments));
    if (!drills) {
        const sim::FileError& error = drills.error();
        return Failure{error.kind == sim::FileError::Kind::machine ? Status::machine : Status::bad_input, error.file,
                       error.line, error.key, error.message};
    }
    TrainingStore store(arguments.value("--store"));
    if (store.failure()) return *store.failure();

    TrainerSettings settings;
    settings.version = LINKDRILL_VERSION;
    settings.broken = broken_of(drills.value());
    say_broken(drills.value(), settings.broken);
    settings.secret = token();
    const bool open = !address.listen.starts_with("127.");
    // without letters and digits that are taken for each other
    if (open) settings.code = secret_text("ACDEFGHJKLMNPQRTUVWXY34679", 6);
    const std::size_t count = drills.value().drills.size();
    const TrainerSurroundings surroundings{
        .now =
            [] {
                return proto::Instant{std::chrono::steady_clock::now().time_since_epoch() /
                                      std::chrono::nanoseconds(1)};
            },
        .epoch_ms = [] { return std::chrono::system_clock::now().time_since_epoch() / std::chrono::milliseconds(1); },
        .random = token};
    Trainer trainer(std::move(drills.value()), settings, store, surroundings);
    std::optional<Beat> beat;
    beat.emplace([&] { trainer.run_on(); });
    if (auto failure = beat->start(address.listen)) return *failure;
    const NoteInterrupt interrupt;
    const auto ready = [&](std::uint16_t found) {
        trainer.be_reached_at(reached_at(address, found));
        say_where(address, found, count, settings, arguments);
    };
    const std::optional<Failure> failure = serve(trainer, address, ready, [&] { return interrupt.came(); });
    beat.reset();
    if (failure) return *failure;

    Finished out;
    out.status = Status::interrupted;
    out.page = Page(request.columns);
    out.page.line("Ended. " + std::to_string(store.all().size()) + " results" +
                  (arguments.has("--store") ? " are kept." : "."));
    out.document = Value::Object{{"results", store.all().size()}};
    return out;
}

proto::Result<Finished, Failure> run(const Request& request) {
    const Arguments& arguments = request.arguments;
    const auto file = arguments.value("--verify");
    if (!file && arguments.has("--printed"))
        return usage("--printed", "is looked for in a file: add --verify FILE.sqlite");
    if (!file) return train(request);
    for (const char* other : {"--port", "--listen", "--store", "--drills"})
        if (arguments.has(other)) return usage(other, "does nothing beside --verify, which serves no pages");
    return verify_records(*file, arguments.value("--printed"), request.columns);
}

}  // namespace

Command train_command() {
    return {
        .name = "train",
        .group = Command::Group::then,
        .does = "training pages: people find faults on live links, in a browser",
        .positional = {"", "", PositionalSpec::Need::optional},
        .options = {{"--port", "N", "port to listen on, 0 for a free one (default 8080)"},
                    {"--listen", "ADDRESS", "of this machine, for trainees elsewhere (default 127.0.0.1)"},
                    {"--store", "FILE.sqlite", "keep results in this file"},
                    {"--drills", "DIR",
                     "folder with drills of your own; without it scenarios/drills here, or those that ship"},
                    {"--verify", "FILE.sqlite", "whether its records are as they were kept; serves nothing"},
                    {"--printed", "HASH", "with --verify: whether a hash on a printed record stands in the file"}},
        .without = {"--seed", "--out", "--jobs"},
        .example = "linkdrill train --store crew.sqlite",
        .notes = {"The instructor's page is for this machine only, by the address printed at the start.",
                  "With --listen trainees need the code that is printed. Names stay on this machine."},
        .run = run,
    };
}

}  // namespace tools
