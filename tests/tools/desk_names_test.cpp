// Nothing leads out of the folder of a desk.
#include <doctest/doctest.h>

#include <cerrno>
#include <cstddef>
#include <string>

#include <fcntl.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/tools/desk_folder.hpp"

namespace {

using namespace desk_test;

void fill(const Folder& folder) {
    folder.write("a.toml", "a = 1\n");
    folder.write(".hidden.toml", "a = 1\n");
    folder.write("b.txt", "a = 1\n");
    fs::create_directory(folder.path() / "line");
    folder.write("line/c.toml", "c = 1\n");
    fs::create_directory(folder.path() / "folder.toml");
    fs::create_symlink("a.toml", folder.path() / "link.toml");
    fs::create_symlink("line", folder.path() / "way");
    fs::create_symlink("/etc", folder.path() / "out");
    fs::create_symlink(".", folder.path() / "here");
}

/// What is opened and what is not; the same with and without openat2.
bool holds(const Folder& folder) {
    const auto beneath = tools::FolderBeneath::open(folder.path().string());
    if (!beneath) return false;
    const auto opens = [&](const char* name) { return tools::DeskFile::open(beneath.value(), name).ok(); };
    for (const char* name : {"a.toml", "line/c.toml"})
        if (!opens(name)) return false;
    for (const char* name :
         {"link.toml",    "way/c.toml", "out/passwd", "here/a.toml", "line/../a.toml", "../plants/a.toml",
          "/etc/passwd",  "",           ".",          "..",          "./a.toml",       "a.toml/",
          "line//c.toml", "/",          "none.toml",  "none/c.toml", "a.toml/c.toml",  "folder.toml",
          "a\n.toml",     "\xFF.toml"})
        if (opens(name)) return false;
    return true;
}

/// From here on openat2 is no call of this process.
bool without_openat2() {
    constexpr unsigned number = offsetof(seccomp_data, nr);
    sock_filter filter[] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, number), BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_openat2, 0, 1),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | ENOSYS), BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)};
    const sock_fprog program{4, filter};
    return ::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && ::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

}  // namespace

TEST_CASE("only files in the folder are opened, through no link") {
    const Folder folder;
    fill(folder);
    CHECK(holds(folder));
    CHECK(refusal(folder, "link.toml") == "is a link, and links are not followed; name the file itself");
    CHECK(refusal(folder, "way/c.toml") ==
          "leads through a link, or through what is no folder; links are not followed");
    CHECK(refusal(folder, "../a.toml") == "leads out of the folder, or nowhere; name a file in it");
    CHECK(folder.beneath().toml_files() == std::vector<std::string>{"a.toml"});
}

TEST_CASE("the same where the kernel cannot do it in one step") {
    const Folder folder;
    fill(folder);
    const pid_t child = ::fork();
    if (child == 0) ::_exit(!without_openat2() ? 77 : holds(folder) ? 0 : 1);
    int status = -1;
    REQUIRE(::waitpid(child, &status, 0) == child);
    REQUIRE(WIFEXITED(status));
    if (WEXITSTATUS(status) == 77) {
        MESSAGE("no filter of calls here, so nothing was shown");
        return;
    }
    CHECK(WEXITSTATUS(status) == 0);
}

TEST_CASE("names of new files") {
    for (const char* good : {"a.toml", "plant 2.toml",
                             "Gr\xC3\xB6\xC3\x9F"
                             "e.toml",
                             "a.b.toml"})
        CHECK_FALSE(tools::new_name_fault(good).has_value());
    for (const std::string& bad :
         {std::string(), std::string("a"), std::string(".toml"), std::string(".a.toml"), std::string("a/b.toml"),
          std::string("a\\b.toml"), std::string("a\n.toml"), std::string("a\x7F.toml"), std::string("..toml"),
          std::string("a.TOML"), std::string("\xFF.toml"), std::string(200, 'a') + ".toml",
          std::string("a\0.toml", 7)}) {
        CAPTURE(bad);
        CHECK(tools::new_name_fault(bad).has_value());
        const Folder folder;
        CHECK_FALSE(tools::DeskFile::begin(folder.beneath(), bad, "a = 1\n").ok());
        CHECK(folder.names().empty());
    }
}

TEST_CASE("what cannot be shown as text is not opened") {
    const Folder folder;
    folder.write("latin.toml", "a = 1\nb = \"\xFC\"\n");
    folder.write("zero.toml", std::string("a\0", 2));
    folder.write("long.toml", std::string(1'000'001, '#'));
    folder.write("most.toml", std::string(1'000'000, '#'));
    folder.write("empty.toml", "");
    folder.write("broken.toml", "a = \n");
    REQUIRE(::mkfifo((folder.path() / "pipe.toml").c_str(), 0600) == 0);
    CHECK(refusal(folder, "latin.toml") == "byte 0xFC is not UTF-8; save the file as UTF-8 text");
    CHECK(refusal(folder, "zero.toml") == "is no text; name a scenario");
    CHECK(refusal(folder, "long.toml") == "has over 1000000 bytes, more than a scenario may have");
    CHECK(refusal(folder, "pipe.toml") == "is no regular file; name a scenario");
    for (const char* fine : {"most.toml", "empty.toml", "broken.toml"}) CHECK(refusal(folder, fine) == "opened");
    CHECK(refusal(folder, "none.toml") == "no such file; name one of the folder, or begin a new one");
}
