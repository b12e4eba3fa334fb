// The bench of the desk, and work beside it.
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <functional>
#include <system_error>
#include <utility>

#include "tools/desk/desk.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// What is seen before something happens, at the slowest rate half a second of it.
constexpr proto::Duration before_a_row = proto::milliseconds(5);

/// In digits, above 0; a whole one, or with a point.
bool is_count(const std::string& typed, bool whole) {
    const auto digits = [](const std::string& text) {
        return !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
    };
    const std::size_t point = typed.find('.');
    if (typed.find_first_of("123456789") == std::string::npos) return false;
    if (point == std::string::npos || whole) return digits(typed);
    return digits(typed.substr(0, point)) && digits(typed.substr(point + 1));
}

std::string stem_of(const std::string& name) {
    const std::size_t slash = name.rfind('/');
    std::string stem = slash == std::string::npos ? name : name.substr(slash + 1);
    if (stem.ends_with(".toml")) stem.resize(stem.size() - 5);
    return stem;
}

/// The text with what differs taken back to what is meant, so that the ends agree; empty where that does not help.
std::string agreeing_text(const TypedPlant& typed, const sim::WrittenFile& file);

}  // namespace

void Desk::begin_bench(sim::DeskBench::Begin begin) {
    begun_text_ = file_->text();
    begun_epoch_ = epoch_;
    bench_ = std::make_unique<LiveBench>(typed_, begin, surroundings_.now(), surroundings_.hour().substr(0, 5));
}

DeskAnswer Desk::at_bench(const Fields& fields) {
    if (field(fields, "do") == "begin" || !bench_) {
        begin_bench(sim::DeskBench::Begin::by_hand);
        return {};
    }
    return bench_->act(fields, surroundings_.now());
}

DeskAnswer Desk::replay(const Fields& fields) {
    const std::string typed = field(fields, "injection");
    double ms = -1.0;
    const auto [end, failed] = std::from_chars(typed.data(), typed.data() + typed.size(), ms);
    if (failed != std::errc{} || end != typed.data() + typed.size() || !(ms >= 0.0) || ms > 86'400'000.0)
        return refuse(Refused::foreign_page, "it is not said which moment is to be played", {load_again()});
    begin_bench(sim::DeskBench::Begin::as_written);
    const proto::Instant at{static_cast<std::int64_t>(std::llround(ms * 1e6))};
    bench_->run_up_to(std::max(proto::Instant{}, at - before_a_row));
    return {};
}

std::string Desk::evidence_folder() const { return "linkdrill-out/" + stem_of(file_->name()); }

std::string Desk::own_folder() const {
    const std::size_t slash = file_->name().rfind('/');
    return folder_.path() + (slash == std::string::npos ? "" : "/" + file_->name().substr(0, slash));
}

std::uint64_t Desk::typed_mark() const {
    constexpr unsigned of_epoch = 32;
    return file_ ? epoch_ << of_epoch | file_->stamp() : 0;
}

/// The files that a scenario may name lie beside it, or in the folders of profiles and modules up to two above. Where
/// one of them is another by now, nothing that was found before holds for what is typed.
void Desk::look_around(proto::Instant now) {
    constexpr proto::Duration every = proto::milliseconds(1000);
    if (looked_around_ && now - *looked_around_ < every) return;
    looked_around_ = now;
    namespace fs = std::filesystem;
    std::uint64_t mark = 1;
    const auto look_at = [&](const fs::path& folder, std::string_view ending) {
        std::error_code failed;
        for (fs::directory_iterator entry(folder, failed), end; !failed && entry != end; entry.increment(failed)) {
            if (entry->path().extension() != ending) continue;
            std::error_code unread;
            const auto size = entry->file_size(unread);
            const auto time = entry->last_write_time(unread).time_since_epoch().count();
            // of no order: a folder is read in any
            mark += std::hash<std::string>{}(entry->path().string()) ^ (size * 0x9E3779B97F4A7C15ULL) ^
                    static_cast<std::uint64_t>(time) * 0xD6E8FEB86659FD93ULL;
        }
    };
    const fs::path own = own_folder();
    look_at(own, ".csv");
    for (const fs::path& above : {own, own / "..", own / ".." / ".."})
        for (const char* const kind : {"profiles", "modules"}) look_at(above / kind, ".toml");
    const bool other = named_mark_ != 0 && mark != named_mark_;
    named_mark_ = mark;
    if (!other) return;
    ++epoch_;
    typed_stamp_ = 0;
    rehearsed_text_.clear();
    retype();
}

/// As many as can go on at once, or the computer has no room: which of them to stop, and the same once more.
DeskAnswer Desk::begin_work(WorkAsked asked, const std::string& path, const Fields& fields) {
    asked.again = tools::told({again("Start it again", path, fields)});
    const auto started = work_.start(std::move(asked), surroundings_.hour());
    if (started) return {};
    std::vector<Mend> mends;
    std::size_t running = 0;
    for (const DeskWork::Work& work : work_.all()) {
        if (!work.child) continue;
        ++running;
        mends.push_back(posting("Stop " + work.asked.words + " (" + std::to_string(work.id) + ")", "/api/job",
                                {{"do", "stop"}, {"what", work.asked.what}, {"id", work.id}}));
    }
    const bool full = running >= DeskWork::at_once;
    if (!full) mends = {again("Try again", path, fields)};
    return refuse(full ? Refused::too_much_work : Refused::work_not_begun, started.error(), std::move(mends));
}

DeskAnswer Desk::rehearse() {
    if (work_.under_way("rehearse"))
        return refuse(Refused::rehearsal_runs, "a rehearsal is under way; what it finds stands below",
                      {posting("Stop it", "/api/job", {{"do", "stop"}, {"what", "rehearse"}})});
    // what is typed, never what the file may hold by now
    WorkAsked asked{.what = "rehearse",
                    .words = "Rehearsal",
                    .arguments = {"run", "-", "--json", "--out", folder_.whole() + "/" + evidence_folder()},
                    .input = file_->text(),
                    .folder = own_folder(),
                    .stamp = typed_mark(),
                    .command = {}};
    DeskAnswer begun = begin_work(std::move(asked), "/api/rehearse", {});
    if (begun.refused) return begun;
    rehearsed_text_ = file_->text();
    rehearsed_folder_ = evidence_folder();
    return {};
}

DeskAnswer Desk::work(const Fields& fields) {
    const std::string what = field(fields, "what");
    if (field(fields, "do") == "stop") {
        std::uint64_t id = 0;
        const std::string typed = field(fields, "id");
        std::from_chars(typed.data(), typed.data() + typed.size(), id);
        if (id == 0)
            if (const DeskWork::Work* const latest = work_.latest(what)) id = latest->id;
        if (!work_.stop(id)) return refuse(Refused::not_under_way, "that is not under way any more");
        return {};
    }
    std::vector<std::string> more;
    std::string words;
    if (what == "campaign" || what == "endurance") {
        const bool trials = what == "campaign";
        const char* const name = trials ? "trials" : "years";
        const std::string usual = trials ? "20000" : "100";
        const std::string typed = field(fields, name).empty() ? usual : field(fields, name);
        if (!is_count(typed, trials))
            return refuse(Refused::count_unfit,
                          "write " + std::string(trials ? "a whole number of trials" : "a number of years") +
                              " in digits, such as " + usual + ", not " + in_quotes(typed),
                          {again("Start with " + usual + " " + name, "/api/job", fields, {{name, usual}})});
        more = {std::string("--") + name, typed};
        words = (trials ? "Campaign, " : "Endurance, ") + typed + " " + name;
    } else if (what == "residual") {
        words = "Residual error";
    } else {
        return refuse(Refused::foreign_page, "this program knows no such work", {load_again()});
    }
    if (const std::string link = field(fields, "link"); !link.empty()) more.insert(more.end(), {"--link", link});
    const bool saved = is_saved();
    std::vector<std::string> arguments{what, "-", "--json"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    std::string command = "linkdrill " + what + " " + shell_word(saved ? file_->name() : "FILE");
    for (const std::string& one : more) command += " " + shell_word(one);
    return begin_work({.what = what,
                       .words = words,
                       .arguments = std::move(arguments),
                       .input = file_->text(),
                       .folder = own_folder(),
                       .stamp = typed_mark(),
                       .command = std::move(command)},
                      "/api/job", fields);
}

namespace {

/// Takes out what is typed at one end alone, wherever [link] says what is meant; addresses that differ become those of
/// the end that has them.
std::string agreeing_text(const TypedPlant& typed, const sim::WrittenFile& file) {
    constexpr std::array keys{"profile",
                              "exchange",
                              "cycle",
                              "watchdog",
                              "controller_watchdog",
                              "device_watchdog",
                              "claimed_sil",
                              "missing_allowed",
                              "payload",
                              "payload_to_device",
                              "payload_to_controller",
                              "byte_order",
                              "bits",
                              "values",
                              "peer_address",
                              "role",
                              "module",
                              "slot",
                              "network",
                              "peer_firmware",
                              "peer_checksum"};
    std::string text = file.text();
    const std::size_t links = typed.links();
    for (std::size_t i = 0; i < links; ++i) {
        const std::string own = typed.is_cell() ? "link[" + std::to_string(i + 1) + "]." : "";
        for (const char* const end : {"controller", "device"})
            for (const char* const key : keys) {
                const auto parsed = sim::WrittenFile::of(text, file.path());
                if (!parsed) return {};
                const auto without = sim::without(parsed.value(), own + end + "." + key);
                if (without) text = without.value();
            }
    }
    return text;
}

}  // namespace

void Desk::ask_curves() {
    const proto::Instant now = surroundings_.now();
    if (typed_->starts() && typed_->differences() == 0)
        return curves_.ask({.typed = typed_, .folder = own_folder()}, now);
    auto agreeing = std::make_shared<const TypedPlant>(agreeing_text(*typed_, *written_), typed_->path());
    if (agreeing->broken() || !agreeing->starts() || agreeing->differences() != 0)
        return curves_.ask({.typed = nullptr, .why_not = "the ends disagree, and what is meant is not in the file"},
                           now);
    curves_.ask({.typed = std::move(agreeing), .folder = own_folder(), .agree = false}, now);
}

}  // namespace tools
