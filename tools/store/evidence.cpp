#include "tools/store/evidence.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <string_view>
#include <system_error>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tools/program/given_file.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/text/json.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

/// An open file, closed at the end of its life.
class Descriptor {
  public:
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor() {
        if (number_ >= 0) ::close(number_);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    [[nodiscard]] int number() const { return number_; }
    [[nodiscard]] bool open() const { return number_ >= 0; }
    /// Closes now, since a late error may show only here.
    [[nodiscard]] bool close() {
        const int number = number_;
        number_ = -1;
        return ::close(number) == 0;
    }

  private:
    int number_;
};

constexpr mode_t file_mode = 0666;  // less what the umask takes
constexpr std::string_view unfinished_ending = ".unfinished";

Failure no(const fs::path& path, int error) {
    const std::string mend = error == ENOSPC || error == EDQUOT || error == EFBIG
                                 ? "; make room, or give --out a folder on another disk"
                                 : "; give --out a folder that can be written";
    return machine_said_no(path.string(), std::strerror(error) + mend);
}

std::optional<Failure> write_whole(const fs::path& path, std::string_view content) {
    Descriptor file(::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, file_mode));
    if (!file.open()) return no(path, errno);
    while (!content.empty()) {
        const ssize_t written = ::write(file.number(), content.data(), content.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return no(path, errno);
        content.remove_prefix(static_cast<std::size_t>(written));
    }
    if (::fsync(file.number()) != 0) return no(path, errno);
    if (!file.close()) return no(path, errno);
    return std::nullopt;
}

std::optional<Failure> sync_folder(const fs::path& folder) {
    const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (!opened.open()) return no(folder, errno);
    // Some file systems cannot sync a folder and say EINVAL.
    if (::fsync(opened.number()) != 0 && errno != EINVAL) return no(folder, errno);
    return std::nullopt;
}

/// Makes the folder and its parents, or finds it to be linkdrill's, or empty.
std::optional<Failure> claim(const fs::path& folder) {
    std::error_code error;
    fs::create_directories(folder, error);
    if (error) return no(folder, error.value());
    const bool marked = fs::exists(folder / evidence_mark, error);
    if (error) return no(folder, error.value());
    if (marked) return std::nullopt;
    const bool empty = fs::is_empty(folder, error);
    if (error) return no(folder, error.value());
    // Asked again: another linkdrill may have marked it between the two questions.
    if (!empty && !fs::exists(folder / evidence_mark, error)) {
        return machine_said_no(
            folder.string(),
            "holds files that linkdrill did not write, so it is left alone; give --out another folder");
    }
    return std::nullopt;
}

/// A folder that is claimed and marked, for as long as this lives: others who use it take turns.
class ClaimedFolder {
  public:
    explicit ClaimedFolder(const fs::path& folder)
        : failure_(claim(folder)), lock_(failure_ ? -1 : open_mark(folder / evidence_mark)) {
        if (!failure_) failure_ = wait_for(folder / evidence_mark);
    }
    /// Or why it cannot be had.
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }

  private:
    static int open_mark(const fs::path& mark) {
        return ::open(mark.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, file_mode);
    }
    [[nodiscard]] std::optional<Failure> wait_for(const fs::path& mark) const {
        if (!lock_.open()) return no(mark, errno);
        while (::flock(lock_.number(), LOCK_EX) != 0)
            if (errno != EINTR) return no(mark, errno);
        return std::nullopt;
    }
    std::optional<Failure> failure_;
    const Descriptor lock_;
};

/// A file that it was possible to look at, and that nobody writes: a StagedFile is locked for as long as it is written.
bool surely_free(const fs::path& path) {
    const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
    struct stat about {};
    return file.open() && ::fstat(file.number(), &about) == 0 && S_ISREG(about.st_mode) &&
           ::flock(file.number(), LOCK_EX | LOCK_NB) == 0;
}

/// Whether a file has a name that StagedFile gives: ".NAME-PROCESS-NUMBER.unfinished".
bool staged_as(std::string_view file, std::string_view name) {
    if (!file.starts_with(".") || !file.substr(1).starts_with(name) || !file.ends_with(unfinished_ending)) return false;
    file.remove_prefix(1 + name.size());
    if (file.size() <= unfinished_ending.size()) return false;
    file.remove_suffix(unfinished_ending.size());
    const auto number = [&file] {
        if (!file.starts_with("-")) return false;
        const std::size_t end = std::min(file.find_first_not_of("0123456789", 1), file.size());
        file.remove_prefix(end);
        return end > 1;
    };
    return number() && number() && file.empty();
}

/// What programs that were killed left of a file of that name. The folder is claimed.
void remove_left_over(const fs::path& folder, const std::string& name) {
    std::error_code error, ignored;  // left over files hurt nobody
    for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error))
        if (staged_as(entry->path().filename().native(), name) && surely_free(entry->path()))
            fs::remove(entry->path(), ignored);
}

/// Where a file of put_evidence() is until it is put in its place: in a claimed folder nobody else has one there.
fs::path unfinished_of(const fs::path& folder, const EvidenceFile& file) {
    return file.staged.empty() ? folder / ("." + file.name + std::string(unfinished_ending)) : fs::path(file.staged);
}

/// Those that are not in their places; a staged one is its owner's.
void remove_unfinished(const fs::path& folder, const std::vector<EvidenceFile>& files) {
    for (const EvidenceFile& file : files)
        if (file.staged.empty()) ::unlink(unfinished_of(folder, file).c_str());
}

}  // namespace

std::string default_folder_of(const std::string& scenario_file) {
    if (scenario_file == standard_input) return "linkdrill-out/standard-input";
    const std::string stem = fs::path(scenario_file).stem().string();
    const bool usable = !stem.empty() && stem != "." && stem != "..";
    return "linkdrill-out/" + (usable ? stem : "scenario");
}

std::optional<Failure> put_evidence(const std::string& folder_name, const std::vector<EvidenceFile>& files,
                                    const std::vector<std::string>& gone) {
    const fs::path folder(folder_name);
    const HoldInterrupt hold;
    const ClaimedFolder claimed(folder);
    if (claimed.failure()) return claimed.failure();
    for (const EvidenceFile& file : files) {
        if (!file.staged.empty()) continue;
        if (auto failure = write_whole(unfinished_of(folder, file), file.content)) {
            remove_unfinished(folder, files);
            return failure;
        }
    }
    const auto give_up = [&](const fs::path& path) -> std::optional<Failure> {
        Failure failure = no(path, errno);
        remove_unfinished(folder, files);
        return failure;
    };
    for (auto file = files.rbegin(); file != files.rend(); ++file)
        if (::unlink((folder / file->name).c_str()) != 0 && errno != ENOENT) return give_up(folder / file->name);
    for (const std::string& name : gone) {
        if (::unlink((folder / name).c_str()) != 0 && errno != ENOENT) return give_up(folder / name);
        remove_unfinished(folder, {{name, {}}});
        remove_left_over(folder, name);
    }
    if (auto failure = sync_folder(folder)) return failure;
    for (const EvidenceFile& file : files)
        if (::rename(unfinished_of(folder, file).c_str(), (folder / file.name).c_str()) != 0)
            return give_up(folder / file.name);
    return sync_folder(folder);
}

StagedFile::StagedFile(std::string name, std::string path, int descriptor)
    : name_(std::move(name)), path_(std::move(path)), on_interrupt_(path_.c_str()), descriptor_(descriptor) {}

StagedFile::~StagedFile() {
    // renamed by put_evidence(), it is no longer found under this name
    struct stat own {};
    struct stat found {};
    if (::fstat(descriptor_, &own) == 0 && ::lstat(path_.c_str(), &found) == 0 && own.st_ino == found.st_ino &&
        own.st_dev == found.st_dev)
        ::unlink(path_.c_str());
    ::close(descriptor_);
}

std::optional<Failure> claim_folder(const std::string& folder) {
    const HoldInterrupt hold;
    return ClaimedFolder(folder).failure();
}

proto::Result<std::unique_ptr<StagedFile>, Failure> StagedFile::create(const std::string& folder_name,
                                                                       const std::string& name) {
    const fs::path folder(folder_name);
    const HoldInterrupt hold;
    // marked before there is anything in it, so that nobody takes it for somebody else's
    const ClaimedFolder claimed(folder);
    if (claimed.failure()) return *claimed.failure();
    remove_left_over(folder, name);
    constexpr int names_most = 1000;
    for (int i = 0; i < names_most; ++i) {
        const fs::path path = folder / ("." + name + "-" + std::to_string(::getpid()) + "-" + std::to_string(i) +
                                        std::string(unfinished_ending));
        const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, file_mode);
        if (descriptor < 0 && errno == EEXIST) continue;
        if (descriptor < 0) return no(path, errno);
        ::flock(descriptor, LOCK_EX | LOCK_NB);  // see surely_free()
        return std::unique_ptr<StagedFile>(new StagedFile(name, path.string(), descriptor));
    }
    return machine_said_no(folder_name, "is full of unfinished files; give --out another folder");
}

bool StagedFile::write_at(std::uint64_t at, std::span<const std::uint8_t> bytes) {
    while (!bytes.empty() && error_ == 0) {
        const ssize_t written = ::pwrite(descriptor_, bytes.data(), bytes.size(), static_cast<off_t>(at));
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) {
            error_ = errno;
            break;
        }
        at += static_cast<std::uint64_t>(written);
        bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
    return error_ == 0;
}

bool StagedFile::write(std::span<const std::uint8_t> bytes) {
    const std::uint64_t at = size_;
    size_ += bytes.size();
    return write_at(at, bytes);
}

bool StagedFile::overwrite(std::uint64_t at, std::span<const std::uint8_t> bytes) { return write_at(at, bytes); }

std::optional<Failure> StagedFile::sync() {
    if (error_ == 0 && ::fsync(descriptor_) != 0) error_ = errno;
    if (error_ == 0) return std::nullopt;
    return no(fs::path(path_).parent_path() / name_, error_);
}

EvidenceFile StagedFile::evidence() const { return {name_, {}, path_}; }

namespace {

/// Letters and digits as they are.
std::string in_file_names(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
        out += plain ? c : '_';
    }
    return out;
}

}  // namespace

std::optional<Failure> keep_if_asked(const std::optional<std::string>& folder, const std::string& name,
                                     const Value& document, const std::optional<Page>& page) {
    if (!folder) return std::nullopt;
    // of a cell each link has documents of its own
    const Value* link = document.find("link");
    const std::string of = name + (link != nullptr && !link->text().empty() ? "_" + in_file_names(link->text()) : "");
    std::vector<EvidenceFile> files;
    if (page) files.push_back({of + ".txt", page->text(Colour::off)});
    files.push_back({of + ".json", to_json(document)});
    return put_evidence(*folder, files);
}

}  // namespace tools
