#include "tools/run/part_journal.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <string_view>
#include <utility>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace tools {
namespace {

constexpr mode_t file_mode = 0644;
constexpr sim::Part all_parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};
/// Parts of one run hear each other, and begin, within less; two runs of the same parts begin further apart.
constexpr std::int64_t begins_within_ns = 5'000'000'000;

/// More than the head of a part's file and its first block.
constexpr std::size_t beginning_bytes = 16'384;

/// Which start of this computer it is: the steady clock begins anew with each.
std::string this_boot() {
    std::string boot = content_of("/proc/sys/kernel/random/boot_id").value_or("");
    boot.erase(boot.find_last_not_of(" \n") + 1);
    return boot;
}

/// Places in the file that a program locks: as it opens it; and once it knows whether its run goes on or begins anew,
/// for what is in the file before is not its own yet. Asking whether there is a lock takes none.
enum class Mark : std::uint8_t { opened, at_work };
struct flock lock_on(Mark mark) {
    struct flock lock {};
    lock.l_type = F_WRLCK;
    lock.l_whence = SEEK_SET;
    lock.l_start = static_cast<off_t>(mark);
    lock.l_len = 1;
    return lock;
}

/// How another part of this folder stands.
struct Other {
    bool there = false;                     ///< its file
    bool at_work = false;                   ///< a program writes it, and its run has begun
    std::optional<sim::PartRecord> record;  ///< of the same run of the same scenario
    std::string differs;                    ///< how, if a program writes it that was given another command
};

/// The first line in which what stands there is not what should: "seed 8, here 7". Nothing if the head has not been
/// written yet.
std::string difference_in(std::string_view there, std::string_view here) {
    while (!here.empty()) {
        const std::size_t a = there.find('\n');
        const std::size_t b = here.find('\n');
        if (a == std::string_view::npos || b == std::string_view::npos) return {};
        const std::string_view one = there.substr(0, a);
        const std::string_view other = here.substr(0, b);
        if (one != other) {
            const std::size_t word = other.find(' ');
            const std::string_view name = other.substr(0, word);
            if (name == "contents") return "another text of the scenario";
            if (word == std::string_view::npos || !one.starts_with(name)) return "another build of linkdrill";
            return std::string(name) + " " + std::string(one.substr(name.size() + 1)) + ", here " +
                   std::string(other.substr(word + 1));
        }
        there.remove_prefix(a + 1);
        here.remove_prefix(b + 1);
    }
    return {};
}

Other other_part(const std::string& path, const PartOf& of, const sim::Scenario& scenario, sim::Part part) {
    Other other;
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (descriptor < 0) return other;
    other.there = true;
    struct flock lock = lock_on(Mark::at_work);
    const bool locked = ::fcntl(descriptor, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK;
    ::close(descriptor);
    // how it began stands at its beginning; the rest may be long
    const auto text = locked ? content_of(path, beginning_bytes) : std::nullopt;
    if (!text) return other;
    other.at_work = text->find("\nb ") != std::string::npos;
    other.differs = difference_in(*text, part_head(of, part));
    if (auto so_far = part_so_far(*text, of, scenario, part); so_far && so_far->begun)
        other.record = std::move(so_far->record);
    return other;
}

/// What the other parts say of the run that began with that record.
struct Others {
    bool go_on = false;              ///< one is at work in it, or none is to be seen from here
    bool at_work = false;            ///< one is at work in some run
    std::string differing, differs;  ///< the file of one that was given another command, and how
};

Others others_in(const std::string& folder, const PartOf& of, const sim::Scenario& scenario, sim::Part own,
                 const sim::PartRecord& begun) {
    Others others;
    bool any = false;
    for (const sim::Part part : all_parts) {
        if (part == own) continue;
        const Other other = other_part(folder + "/" + part_file_name(part, of.number), of, scenario, part);
        any = any || other.there;
        others.at_work = others.at_work || other.at_work;
        if (others.differs.empty() && !other.differs.empty()) {
            others.differing = folder + "/" + part_file_name(part, of.number);
            others.differs = other.differs;
        }
        if (!other.record || other.record->boot != begun.boot) continue;
        const std::int64_t apart = other.record->clock_ns - begun.clock_ns;
        others.go_on = others.go_on || (apart > -begins_within_ns && apart < begins_within_ns);
    }
    others.go_on = others.go_on || !any;
    return others;
}

/// The run that began so is not over by its time, and began since this computer was started.
bool still_lasts(const sim::PartRecord& begun, const sim::Scenario& scenario) {
    const std::int64_t since = sim::steady_clock_ns() - begun.clock_ns;
    const std::int64_t longest = (scenario.duration + sim::goes_on_after(scenario)).ns;
    return !begun.boot.empty() && begun.boot == this_boot() && since >= 0 && since < longest;
}

}  // namespace

std::optional<std::string> content_of(const std::string& path, std::size_t most) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return std::nullopt;
    std::string text;
    std::array<char, 65'536> some{};
    while (text.size() < most &&
           file.read(some.data(), static_cast<std::streamsize>(std::min(some.size(), most - text.size()))).gcount() > 0)
        text.append(some.data(), static_cast<std::size_t>(file.gcount()));
    return text;
}

bool seems_whole(const std::string& path) {
    constexpr std::string_view end = "whole\n";
    std::ifstream file(path, std::ios::binary | std::ios::ate);
    if (!file || file.tellg() < static_cast<std::streamoff>(end.size())) return false;
    file.seekg(-static_cast<std::streamoff>(end.size()), std::ios::end);
    std::string last(end.size(), '\0');
    return file.read(last.data(), static_cast<std::streamsize>(last.size())) && last == end;
}

PartJournalFile::PartJournalFile(std::string path, int descriptor, PartOf of, sim::Part part)
    : path_(std::move(path)), descriptor_(descriptor), of_(std::move(of)), part_(part) {}

PartJournalFile::~PartJournalFile() { ::close(descriptor_); }

proto::Result<std::unique_ptr<PartJournalFile>, Failure> PartJournalFile::open(const std::string& folder,
                                                                               const PartOf& of,
                                                                               const sim::Scenario& scenario,
                                                                               sim::Part part) {
    const std::string path = folder + "/" + part_file_name(part, of.number);
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, file_mode);
    if (descriptor < 0) return machine_said_no(path, std::strerror(errno));
    std::unique_ptr<PartJournalFile> journal(new PartJournalFile(path, descriptor, of, part));
    struct stat info {};
    if (::fstat(descriptor, &info) != 0 || !S_ISREG(info.st_mode)) return machine_said_no(path, "is no file");
    struct flock lock = lock_on(Mark::opened);
    if (::fcntl(descriptor, F_OFD_SETLK, &lock) != 0 && (errno == EACCES || errno == EAGAIN))
        return machine_said_no(path,
                               "another program is this part in this folder; end it, or give --out another folder");
    if (auto failure = journal->take_up(folder, scenario)) return *failure;
    struct flock at_work = lock_on(Mark::at_work);
    ::fcntl(descriptor, F_OFD_SETLK, &at_work);  // where there are no locks nobody is seen at work
    return journal;
}

std::optional<Failure> PartJournalFile::take_up(const std::string& folder, const sim::Scenario& scenario) {
    const auto text = content_of(path_);
    auto found = text ? part_so_far(*text, of_, scenario, part_) : std::nullopt;
    const bool over = !text || text->find("\nb ") == std::string::npos || text->ends_with("\nwhole\n");
    const Others others = others_in(folder, of_, scenario, part_, found ? found->record : sim::PartRecord{});
    if (found && found->begun && !over && still_lasts(found->record, scenario) && others.go_on) {
        const std::size_t bytes = found->bytes;
        earlier_ = {std::move(found->record), found->alive};
        if (of_.number != 0) return begin_anew();
        size_ = bytes;
        begun_ = true;
        if (::ftruncate(descriptor_, static_cast<off_t>(size_)) == 0) return std::nullopt;
        return machine_said_no(path_, std::strerror(errno));
    }
    // what others still need is not written over by a slip of the fingers
    if (!over && others.at_work)
        return Failure{Status::bad_input,
                       path_,
                       0,
                       {},
                       "is of a run that others are at work in, and not of this scenario as it is now with this seed; "
                       "give the command as it was, or another --out"};
    // these two would wait for each other, and never have a verdict
    if (!others.differs.empty())
        return Failure{
            Status::bad_input,
            others.differing,
            0,
            {},
            "is written by a part that was given " + others.differs + "; give all parts the same, or another --out"};
    return begin_anew();
}

std::optional<Failure> PartJournalFile::begin_anew() {
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

bool PartJournalFile::begin(const sim::PartRecord& record) {
    sim::PartRecord begun = record;
    begun.boot = this_boot();
    const std::string block = begin_block(begun);
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
