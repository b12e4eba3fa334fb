#include "tools/run/part_journal.hpp"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <sstream>
#include <string_view>
#include <utility>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace tools {
namespace {

constexpr mode_t file_mode = 0644;
constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};
/// Parts of one run hear each other, and begin, within less; two runs of the same parts begin further apart.
constexpr std::int64_t begins_within_ns = 5'000'000'000;

/// Which start of this computer it is: the steady clock begins anew with each.
std::string this_boot() {
    std::string boot = content_of("/proc/sys/kernel/random/boot_id").value_or("");
    boot.erase(boot.find_last_not_of(" \n") + 1);
    return boot;
}

/// How another part of this folder stands.
struct Other {
    bool there = false;    ///< its file
    bool at_work = false;  ///< a program writes it
    std::optional<PartBegin> begun;
};

Other other_part(const std::string& path, const PartOf& of, const sim::Scenario& scenario, sim::Part part) {
    Other other;
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (descriptor < 0) return other;
    other.there = true;
    other.at_work = ::flock(descriptor, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
    ::close(descriptor);
    if (!other.at_work) return other;
    const auto text = content_of(path);
    if (auto so_far = text ? part_so_far(*text, of, scenario, part) : std::nullopt) other.begun = so_far->begun;
    return other;
}

/// Whether the others, as far as they are seen from here, are at work in the run that began then.
bool others_go_on(const std::string& folder, const PartOf& of, const sim::Scenario& scenario, sim::Part own,
                  const PartBegin& begun) {
    bool any = false;
    for (const sim::Part part : all_parts) {
        if (part == own) continue;
        const Other other = other_part(folder + "/" + part_file_name(part), of, scenario, part);
        any = any || other.there;
        if (!other.at_work || !other.begun || other.begun->boot != begun.boot) continue;
        const std::int64_t apart = other.begun->clock_ns - begun.clock_ns;
        if (apart > -begins_within_ns && apart < begins_within_ns) return true;
    }
    return !any;
}

}  // namespace

std::optional<std::string> content_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return std::nullopt;
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

PartJournalFile::PartJournalFile(std::string path, int descriptor, PartOf of, sim::Part part)
    : path_(std::move(path)), descriptor_(descriptor), of_(std::move(of)), part_(part) {}

PartJournalFile::~PartJournalFile() { ::close(descriptor_); }

proto::Result<std::unique_ptr<PartJournalFile>, Failure> PartJournalFile::open(const std::string& folder,
                                                                               const PartOf& of,
                                                                               const sim::Scenario& scenario,
                                                                               sim::Part part) {
    const std::string path = folder + "/" + part_file_name(part);
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, file_mode);
    if (descriptor < 0) return machine_said_no(path, std::strerror(errno));
    std::unique_ptr<PartJournalFile> journal(new PartJournalFile(path, descriptor, of, part));
    struct stat info {};
    if (::fstat(descriptor, &info) != 0 || !S_ISREG(info.st_mode)) return machine_said_no(path, "is no file");
    if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK)
        return machine_said_no(path,
                               "another program is this part in this folder; end it, or give --out another folder");
    if (auto failure = journal->take_up(folder, scenario)) return *failure;
    return journal;
}

std::optional<Failure> PartJournalFile::take_up(const std::string& folder, const sim::Scenario& scenario) {
    const auto text = content_of(path_);
    auto found = text ? part_so_far(*text, of_, scenario, part_) : std::nullopt;
    const std::int64_t now = sim::steady_clock_ns();
    const std::int64_t longest = (scenario.duration + sim::goes_on_after(scenario)).ns;
    if (found && !found->whole && found->begun && !found->begun->boot.empty() && found->begun->boot == this_boot() &&
        found->begun->clock_ns <= now && now - found->begun->clock_ns < longest &&
        others_go_on(folder, of_, scenario, part_, *found->begun)) {
        size_ = found->bytes;
        begun_ = true;
        earlier_ = {std::move(found->record), found->alive, found->begun->clock_ns};
        if (::ftruncate(descriptor_, static_cast<off_t>(size_)) == 0) return std::nullopt;
        return machine_said_no(path_, std::strerror(errno));
    }
    if (::ftruncate(descriptor_, 0) != 0) return machine_said_no(path_, std::strerror(errno));
    const std::string head = part_head(of_, part_) + part_alive({}, 0);
    if (!write_at(0, head)) return machine_said_no(path_, std::strerror(error_));
    size_ = head.size();
    return std::nullopt;
}

bool PartJournalFile::write_at(std::size_t at, const std::string& text) {
    std::size_t done = 0;
    while (error_ == 0 && done < text.size()) {
        const ssize_t written =
            ::pwrite(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(at + done));
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) error_ = written < 0 ? errno : EIO;
        if (written > 0) done += static_cast<std::size_t>(written);
    }
    return error_ == 0;
}

bool PartJournalFile::begin(const sim::PartRecord& record, std::int64_t clock_ns) {
    const std::string block = begin_block(record, {clock_ns, this_boot()});
    if (!write_at(size_, block)) return false;
    size_ += block.size();
    begun_ = true;
    return true;
}

bool PartJournalFile::keep(sim::PartRecord& record, proto::Instant alive, std::uint64_t scans) {
    const std::string block = news_block(record);
    if (!write_at(size_, block) || !write_at(part_alive_place(of_, part_), part_alive(alive, scans))) return false;
    size_ += block.size();
    record.absences.clear();
    record.log.events.clear();
    record.lateness_ns.clear();
    record.telegrams.clear();
    return true;
}

std::optional<Failure> PartJournalFile::finish(sim::PartRecord& record) {
    const std::string blocks = news_block(record) + end_block(record);
    if (!write_at(size_, blocks) || ::fsync(descriptor_) != 0)
        return machine_said_no(path_, std::strerror(error_ != 0 ? error_ : errno));
    size_ += blocks.size();
    return std::nullopt;
}

}  // namespace tools
