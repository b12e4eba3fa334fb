#include "tools/desk/draft_file.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <sstream>
#include <system_error>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/scenario/units.hpp"
#include "tools/desk/whole_file.hpp"
#include "tools/store/running_check.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view first_line = "linkdrill desk draft 1";
constexpr std::string_view ending = ".desk-draft", unfinished = ".new";
constexpr int slots_most = 9;
constexpr std::size_t content_most = 2'000'000;

std::string check_of(std::string_view text) {
    RunningCheck check;
    check.add(text);
    constexpr unsigned digits = 16;
    return sim::written_hex(check.value(), digits).substr(2);
}

/// What a draft says of itself before its text.
struct Head {
    std::string name;  ///< of the file in its folder
    std::string over;  ///< check of the text that it was typed over, or "nothing"
    std::int64_t kept_at = 0;
};

std::string over_of(const std::optional<std::string>& saved) { return saved ? check_of(*saved) : "nothing"; }

std::string content_of(const Head& head, const std::string& text) {
    std::ostringstream out;
    out << first_line << '\n'
        << head.name << '\n'
        << head.over << '\n'
        << head.kept_at << '\n'
        << check_of(text) << "\n\n"
        << text;
    return out.str();
}

/// Nothing for what is no whole draft.
std::optional<std::string> text_in(const std::string& content, Head& head) {
    std::istringstream in(content);
    std::string first, kept_at, check, blank;
    for (std::string* const line : {&first, &head.name, &head.over, &kept_at, &check, &blank})
        if (!std::getline(in, *line)) return std::nullopt;
    const auto begin = in.tellg();
    if (first != first_line || !blank.empty() || begin < 0) return std::nullopt;
    std::string text = content.substr(static_cast<std::size_t>(begin));
    if (check_of(text) != check) return std::nullopt;
    head.kept_at = std::strtoll(kept_at.c_str(), nullptr, 10);
    return text;
}

std::string content_at(int descriptor) {
    std::string content(content_most, '\0');
    std::size_t size = 0;
    while (size < content.size()) {
        const ssize_t count = ::pread(descriptor, &content[size], content.size() - size, static_cast<off_t>(size));
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) break;
        size += static_cast<std::size_t>(count);
    }
    content.resize(size);
    return content;
}

std::string slot_name(const std::string& stem, int slot) { return stem + (slot > 1 ? "-" + std::to_string(slot) : ""); }

/// A leaf as a part of a draft's name, which may have 255 bytes in all.
std::string fitting(const std::string& leaf) {
    constexpr std::size_t whole = 200, part = 150;
    return leaf.size() <= whole ? leaf : leaf.substr(0, part) + "-" + check_of(leaf);
}

/// The user's state folder of the program (XDG base directories): $XDG_STATE_HOME/linkdrill.
std::optional<std::string> state_folder() {
    const char* const state = std::getenv("XDG_STATE_HOME");
    if (state != nullptr && state[0] == '/') return std::string(state) + "/linkdrill";
    const char* const home = std::getenv("HOME");
    if (home != nullptr && home[0] == '/') return std::string(home) + "/.local/state/linkdrill";
    return std::nullopt;
}

std::shared_ptr<const Descriptor> opened_state_folder(bool make) {
    const std::optional<std::string> path = state_folder();
    if (!path) return nullptr;
    if (make) {
        std::error_code ignored;  // seen when it is opened
        fs::create_directories(fs::path(*path).parent_path(), ignored);
        constexpr mode_t own = 0700;
        ::mkdir(path->c_str(), own);
    }
    auto folder = std::make_shared<Descriptor>(::open(path->c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (!folder->open()) return nullptr;
    return folder;
}

/// Of the drafts of files in that folder, in the state folder.
std::string state_prefix(const std::string& folder_path) { return check_of(folder_path) + "-"; }

/// A new file, locked; not open if it cannot be made.
Descriptor made_locked(int folder, const std::string& name) {
    constexpr mode_t own = 0600;
    Descriptor file(::openat(folder, name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, own));
    if (file.open() && !locked_alone(file.number(), folder, name)) {
        file.close();
        errno = EAGAIN;
    }
    return file;
}

/// The draft of that name, if no running program keeps it; not open: there is none, or `kept`.
Descriptor opened_draft(int folder, const std::string& name, bool& kept) {
    Descriptor file(::openat(folder, name.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
    struct stat about {};
    if (!file.open() || ::fstat(file.number(), &about) != 0 || !S_ISREG(about.st_mode)) return Descriptor();
    if (::flock(file.number(), LOCK_EX | LOCK_NB) != 0) {
        kept = true;
        return Descriptor();
    }
    if (!is_at(file.number(), folder, name)) {  // replaced just now by who keeps it
        kept = true;
        return Descriptor();
    }
    return file;
}

}  // namespace

std::optional<DraftFile::Where> DraftFile::beside() const {
    return Where{place_.folder, "." + fitting(place_.leaf) + std::string(ending)};
}

std::optional<DraftFile::Where> DraftFile::in_state_folder(bool make) const {
    const auto folder = opened_state_folder(make);
    if (!folder) return std::nullopt;
    return Where{folder, state_prefix(place_.folder_path) + fitting(place_.leaf) + std::string(ending)};
}

bool DraftFile::is_own(const std::string& name) const {
    return (own_ && own_->name == name) || (found_slot_ && found_slot_->name == name);
}

void DraftFile::look(const std::optional<std::string>& saved) {
    elsewhere_ = false;
    for (const std::optional<Where>& where : {beside(), in_state_folder(false)})
        for (int slot = 1; where && slot <= slots_most; ++slot) look_at(*where, slot_name(where->stem, slot), saved);
}

void DraftFile::look_at(const Where& where, const std::string& name, const std::optional<std::string>& saved) {
    if (is_own(name)) return;
    Descriptor file = opened_draft(where.folder->number(), name, elsewhere_);
    if (!file.open()) return;
    Head head;
    const std::optional<std::string> text = text_in(content_at(file.number()), head);
    if (!text || head.name != place_.leaf) return;
    Slot slot{where.folder, name, std::move(file)};
    if (saved && *text == *saved) {
        remove_slot(slot);
    } else if (!found_ || head.kept_at > found_->kept_at) {
        found_ = FoundDraft{*text, head.kept_at, head.over != over_of(saved)};
        found_slot_ = std::move(slot);
    }
}

std::optional<Failure> DraftFile::keep(const std::string& text, const std::optional<std::string>& saved) {
    const std::string content = content_of({place_.leaf, over_of(saved), std::int64_t{::time(nullptr)}}, text);
    int error = own_ ? replace_own(content) : EACCES;
    if (error == 0) return std::nullopt;
    int first = own_ ? error : 0;
    for (const bool state : {false, true}) {
        const std::optional<Where> where = state ? in_state_folder(true) : beside();
        if (!where) continue;
        error = keep_at(*where, content);
        if (error == 0) return std::nullopt;
        if (first == 0) first = error;
    }
    return no_to(place_.shown, "what is typed cannot be kept beside it", first);
}

int DraftFile::replace_own(const std::string& content) {
    const int folder = own_->folder->number();
    const std::string made = own_->name + std::string(unfinished);
    ::unlinkat(folder, made.c_str(), 0);
    Descriptor file = made_locked(folder, made);
    int error = file.open() ? write_and_sync(file.number(), content) : errno;
    if (error == 0 && ::renameat(folder, made.c_str(), folder, own_->name.c_str()) != 0) error = errno;
    if (error != 0) {
        ::unlinkat(folder, made.c_str(), 0);
        return error;
    }
    own_->lock = std::move(file);
    return sync_names(folder);
}

int DraftFile::keep_at(const Where& where, const std::string& content) {
    const int folder = where.folder->number();
    int error = EBUSY;  // all slots are taken
    for (int number = 1; number <= slots_most; ++number) {
        const std::string name = slot_name(where.stem, number), made = name + std::string(unfinished);
        if (is_own(name) || ::faccessat(folder, name.c_str(), F_OK, AT_SYMLINK_NOFOLLOW) == 0) continue;
        remove_left_over(folder, made);
        Descriptor file = made_locked(folder, made);
        if (!file.open() && (errno == EEXIST || errno == EAGAIN)) continue;  // another one begins there right now
        error = file.open() ? write_and_sync(file.number(), content) : errno;
        if (error == 0 && ::renameat2(folder, made.c_str(), folder, name.c_str(), RENAME_NOREPLACE) != 0) {
            error = errno;
            const bool no_such_call = error == EINVAL || error == ENOSYS;
            if (no_such_call) error = ::linkat(folder, made.c_str(), folder, name.c_str(), 0) == 0 ? 0 : errno;
        }
        if (error == EEXIST) {
            ::unlinkat(folder, made.c_str(), 0);
            continue;
        }
        if (error != 0 || is_at(file.number(), folder, made)) ::unlinkat(folder, made.c_str(), 0);
        if (error != 0) return error;
        if (own_) remove_slot(*own_);
        own_ = Slot{where.folder, name, std::move(file)};
        return sync_names(folder);
    }
    return error;
}

int DraftFile::remove_slot(Slot& slot) {
    const int folder = slot.folder->number();
    const int error = ::unlinkat(folder, slot.name.c_str(), 0) == 0 || errno == ENOENT ? 0 : errno;
    return error != 0 ? error : sync_names(folder);
}

std::optional<Failure> DraftFile::remove() {
    if (!own_) return std::nullopt;
    const int error = remove_slot(*own_);
    own_.reset();
    if (error != 0) return no_to(place_.shown, "its draft cannot be removed", error);
    return std::nullopt;
}

std::string DraftFile::lies_at() const {
    if (!own_ || is_removed(own_->folder->number())) return {};
    return path_of(own_->folder->number()) + "/" + own_->name;
}

void DraftFile::take_found() {
    if (!found_slot_) return;
    if (own_) remove_slot(*own_);
    own_ = std::move(found_slot_);
    found_slot_.reset();
    found_.reset();
}

std::optional<Failure> DraftFile::drop_found() {
    if (!found_slot_) return std::nullopt;
    const int error = remove_slot(*found_slot_);
    found_slot_.reset();
    found_.reset();
    if (error != 0) return no_to(place_.shown, "its draft cannot be removed", error);
    return std::nullopt;
}

std::vector<LeftDraft> drafts_left(const FolderBeneath& folder) {
    std::vector<LeftDraft> left;
    const auto place = folder.place("a");  // any file of it
    if (!place) return left;
    const auto look_through = [&](int at, const std::string& prefix) {
        for (const std::string& name : names_in(at)) {
            if (!name.starts_with(prefix) || name.find(ending) == std::string::npos || name.ends_with(unfinished))
                continue;
            bool kept = false;
            const Descriptor file = opened_draft(at, name, kept);
            if (!file.open()) continue;
            Head head;
            if (!text_in(content_at(file.number()), head)) continue;
            const auto of = folder.place(head.name);
            if (of && of.value().leaf == head.name && !mark_of(of.value())) left.push_back({head.name, head.kept_at});
        }
    };
    look_through(place.value().folder->number(), ".");
    if (const auto state = opened_state_folder(false))
        look_through(state->number(), state_prefix(place.value().folder_path));
    std::sort(left.begin(), left.end(), [](const LeftDraft& a, const LeftDraft& b) {
        return a.name != b.name ? a.name < b.name : a.kept_at > b.kept_at;
    });
    left.erase(std::unique(left.begin(), left.end(), [](const auto& a, const auto& b) { return a.name == b.name; }),
               left.end());
    return left;
}

}  // namespace tools
