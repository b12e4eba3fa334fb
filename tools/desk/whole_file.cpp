#include "tools/desk/whole_file.hpp"

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <memory>
#include <utility>

#include <dirent.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/reading/read.hpp"

namespace tools {
namespace {

constexpr std::int64_t second_ns = 1'000'000'000;

std::int64_t ns_of(const timespec& time) { return std::int64_t{time.tv_sec} * second_ns + time.tv_nsec; }

FileMark mark_from(const struct stat& about) {
    timespec now{};
    ::clock_gettime(CLOCK_REALTIME, &now);
    // the coarsest times that file systems keep are of two seconds
    const bool young = ns_of(now) - ns_of(about.st_ctim) < 3 * second_ns;
    return {about.st_dev, about.st_ino, about.st_size, ns_of(about.st_mtim), ns_of(about.st_ctim), young};
}

/// All of an open file, or errno.
int read_all(int descriptor, std::string& bytes) {
    bytes.clear();
    std::string piece(65536, '\0');
    while (bytes.size() <= sim::file_bytes_max) {
        const ssize_t count = ::pread(descriptor, piece.data(), piece.size(), static_cast<off_t>(bytes.size()));
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return errno;
        if (count == 0) break;
        bytes.append(piece, 0, static_cast<std::size_t>(count));
    }
    return 0;
}

Failure bad(const PlaceBeneath& place, std::string words) {
    return {Status::bad_input, place.shown, 0, {}, std::move(words)};
}

bool holds(const PlaceBeneath& place, const std::string& bytes) {
    const auto there = read_whole(place);
    return there && there.value() && there.value()->bytes == bytes;
}

/// A file under another name in the folder until it is put in its place; gone otherwise.
class NewFile {
  public:
    NewFile(const PlaceBeneath& place, mode_t mode) : place_(place) {
        static std::atomic<unsigned> count{0};
        const std::string beginning = beginning_of(place.leaf);
        remove_left_over(place.folder->number(), beginning);
        name_ = beginning + std::to_string(::getpid()) + "-" + std::to_string(++count);
        file_ = Descriptor(
            ::openat(place.folder->number(), name_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode));
        error_ = file_.open() ? 0 : errno;
        if (file_.open()) ::flock(file_.number(), LOCK_EX | LOCK_NB);  // see remove_left_over()
    }
    ~NewFile() {
        if (file_.open() && !left_) ::unlinkat(place_.folder->number(), name_.c_str(), 0);
    }
    /// What lies there under its name is somebody's and stays.
    void leave() { left_ = true; }
    NewFile(const NewFile&) = delete;
    NewFile& operator=(const NewFile&) = delete;
    [[nodiscard]] int error() const { return error_; }
    [[nodiscard]] int number() const { return file_.number(); }
    [[nodiscard]] const std::string& name() const { return name_; }

  private:
    static std::string beginning_of(const std::string& leaf) {
        constexpr std::size_t bytes_most = 200;  // of the 255 that a name may have
        return "." + leaf.substr(0, bytes_most) + ".desk-new-";
    }
    const PlaceBeneath& place_;
    std::string name_;
    Descriptor file_;
    int error_ = 0;
    bool left_ = false;
};

/// The old file's owner and rights, as far as this user may give them.
int like_the_old(int file, const ReadFile& old) {
    struct stat own {};
    if (::fstat(file, &own) != 0) return errno;
    bool same = own.st_uid == old.owner && own.st_gid == old.group;
    if (!same) same = ::fchown(file, old.owner, old.group) == 0;
    if (!same && ::fchown(file, static_cast<uid_t>(-1), old.group) != 0) errno = 0;
    constexpr unsigned rights = 0777, all = 07777;
    return ::fchmod(file, old.mode & (same ? all : rights)) == 0 ? 0 : errno;
}

enum class Taken : std::uint8_t { yes, foreign, no };

/// The new file takes the place of one that holds `over`: they change places, and what then lies under the other name
/// is looked at, so that whatever somebody put there in between is not lost.
Taken change_places(const PlaceBeneath& place, NewFile& made, const std::string& over) {
    const int folder = place.folder->number();
    const Descriptor old(::openat(folder, place.leaf.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
    if (old.open()) ::flock(old.number(), LOCK_EX | LOCK_NB);  // nobody takes it for left over
    const auto exchange = [&] {
        return ::renameat2(folder, made.name().c_str(), folder, place.leaf.c_str(), RENAME_EXCHANGE) == 0;
    };
    if (exchange()) {
        PlaceBeneath aside = place;
        aside.leaf = made.name();
        if (holds(aside, over)) return Taken::yes;
        if (exchange()) return Taken::foreign;
        made.leave();
        return Taken::no;
    }
    if (errno == ENOENT) return Taken::foreign;
    if (errno != EINVAL && errno != ENOSYS) return Taken::no;
    if (!holds(place, over)) return Taken::foreign;  // a file system that cannot exchange
    return ::renameat(folder, made.name().c_str(), folder, place.leaf.c_str()) == 0 ? Taken::yes : Taken::no;
}

/// The new file gets a name that nobody has.
Taken take_name(const PlaceBeneath& place, const NewFile& made) {
    const int folder = place.folder->number();
    if (::renameat2(folder, made.name().c_str(), folder, place.leaf.c_str(), RENAME_NOREPLACE) == 0) return Taken::yes;
    if (errno == EINVAL || errno == ENOSYS)
        if (::linkat(folder, made.name().c_str(), folder, place.leaf.c_str(), 0) == 0) return Taken::yes;
    return errno == EEXIST ? Taken::foreign : Taken::no;
}

}  // namespace

bool FileMark::same(const FileMark& other) const {
    return device == other.device && number == other.number && size == other.size && changed_ns == other.changed_ns &&
           status_ns == other.status_ns;
}

Failure no_to(const std::string& shown, std::string_view what, int error) {
    std::string message = std::string(what) + ": " + std::strerror(error);
    switch (error) {
        case ENOSPC:
        case EDQUOT:
        case EFBIG: message += "; make room on that disk, then save again"; break;
        case EACCES:
        case EPERM:
        case EROFS: message += "; check the rights of the file and its folder"; break;
        default: message += "; try again, or use another folder"; break;
    }
    return machine_said_no(shown, message);
}

proto::Result<std::optional<ReadFile>, Failure> read_whole(const PlaceBeneath& place) {
    const Descriptor file(
        ::openat(place.folder->number(), place.leaf.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
    if (!file.open()) {
        if (errno == ENOENT) return std::optional<ReadFile>();
        if (errno == ELOOP) return bad(place, "is a link, and links are not followed; name the file itself");
        if (errno == ENXIO) return bad(place, "is no regular file; name a scenario");
        return no_to(place.shown, "cannot be read", errno);
    }
    ReadFile read;
    struct stat before {};
    struct stat after {};
    // until nobody wrote while it was read
    constexpr int tries = 20;
    for (int i = 0; i < tries; ++i) {
        if (::fstat(file.number(), &before) != 0) return no_to(place.shown, "cannot be read", errno);
        if (!S_ISREG(before.st_mode)) return bad(place, "is no regular file; name a scenario");
        if (const int error = read_all(file.number(), read.bytes)) return no_to(place.shown, "cannot be read", error);
        if (read.bytes.size() > sim::file_bytes_max)
            return bad(place,
                       "has over " + std::to_string(sim::file_bytes_max) + " bytes, more than a scenario may have");
        if (::fstat(file.number(), &after) != 0) return no_to(place.shown, "cannot be read", errno);
        if (mark_from(before).same(mark_from(after)) && static_cast<std::size_t>(after.st_size) == read.bytes.size())
            break;
    }
    read.mark = mark_from(before);
    constexpr unsigned all = 07777;
    read.mode = before.st_mode & all;
    read.owner = before.st_uid;
    read.group = before.st_gid;
    return std::optional<ReadFile>(std::move(read));
}

std::optional<FileMark> mark_of(const PlaceBeneath& place) {
    struct stat about {};
    const bool there = ::fstatat(place.folder->number(), place.leaf.c_str(), &about, AT_SYMLINK_NOFOLLOW) == 0;
    if (!there || !S_ISREG(about.st_mode)) return std::nullopt;
    return mark_from(about);
}

int write_and_sync(int descriptor, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return errno;
        bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    return ::fsync(descriptor) == 0 ? 0 : errno;
}

int sync_names(int folder) {
    // some file systems cannot sync a folder and say EINVAL
    return ::fsync(folder) == 0 || errno == EINVAL ? 0 : errno;
}

std::vector<std::string> names_in(int folder) {
    std::vector<std::string> names;
    const int opened = ::openat(folder, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (opened < 0) return names;
    const std::unique_ptr<DIR, int (*)(DIR*)> listed(::fdopendir(opened), ::closedir);
    if (!listed) {
        ::close(opened);
        return names;
    }
    while (const dirent* const entry = ::readdir(listed.get())) names.emplace_back(entry->d_name);
    return names;
}

bool is_at(int descriptor, int folder, const std::string& name) {
    struct stat own {};
    struct stat found {};
    return ::fstat(descriptor, &own) == 0 && ::fstatat(folder, name.c_str(), &found, AT_SYMLINK_NOFOLLOW) == 0 &&
           own.st_ino == found.st_ino && own.st_dev == found.st_dev;
}

bool locked_alone(int descriptor, int folder, const std::string& name) {
    return ::flock(descriptor, LOCK_EX | LOCK_NB) == 0 && is_at(descriptor, folder, name);
}

void remove_left_over(int folder, std::string_view beginning) {
    for (const std::string& name : names_in(folder)) {
        if (!name.starts_with(beginning)) continue;
        const Descriptor file(::openat(folder, name.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
        if (file.open() && locked_alone(file.number(), folder, name)) ::unlinkat(folder, name.c_str(), 0);
    }
}

PutFile put_whole(const PlaceBeneath& place, std::string_view bytes, const std::optional<std::string>& over) {
    const auto failed = [&](int error) {
        return PutFile{PutFile::Outcome::failed, {}, no_to(place.shown, "cannot be saved", error)};
    };
    const auto there = read_whole(place);
    if (!there) return {PutFile::Outcome::failed, {}, there.error()};
    const std::optional<ReadFile>& old = there.value();
    if (old.has_value() != over.has_value() || (old && old->bytes != *over)) return {PutFile::Outcome::foreign};
    constexpr mode_t for_owner = 0600, for_all = 0666;  // less what the umask takes
    NewFile made(place, old ? for_owner : for_all);
    if (made.error() != 0) return failed(made.error());
    int error = old ? like_the_old(made.number(), *old) : 0;
    if (error == 0) error = write_and_sync(made.number(), bytes);
    if (error != 0) return failed(error);
    const Taken taken = over ? change_places(place, made, *over) : take_name(place, made);
    if (taken == Taken::no) return failed(errno);
    if (taken == Taken::foreign) return {PutFile::Outcome::foreign};
    struct stat about {};
    if (::fstat(made.number(), &about) != 0) return failed(errno);
    if ((error = sync_names(place.folder->number())) != 0) return failed(error);
    return {PutFile::Outcome::done, mark_from(about), {}};
}

}  // namespace tools
