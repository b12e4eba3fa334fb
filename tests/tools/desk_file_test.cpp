// A file with what is typed and not yet saved: saved whole or not at all, and never over what somebody else wrote.
#include "tools/desk/desk_file.hpp"

#include <doctest/doctest.h>

#include <csignal>
#include <string>

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/tools/desk_folder.hpp"

namespace {

using namespace desk_test;

const std::string before = "# plant\ntitle = \"a\"\n", after = "# plant\ntitle = \"b\"\n";

/// Does something in a process of its own; its answer.
template <class Does>
int in_child(const Does& does) {
    const pid_t child = ::fork();
    if (child == 0) ::_exit(does());
    int status = -1;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace

TEST_CASE("a file is saved with its rights, and nothing is left beside it") {
    const Folder folder;
    folder.write("a.toml", before);
    REQUIRE(::chmod((folder.path() / "a.toml").c_str(), 0640) == 0);
    tools::DeskFile file = opened(folder);
    CHECK(file.text() == before);
    CHECK(file.in_folder());
    CHECK_FALSE(file.changed());
    CHECK(file.save().saved == Saved::done);  // nothing to do
    CHECK_FALSE(file.saved_at().has_value());
    REQUIRE_FALSE(file.edit(after, "title").has_value());
    CHECK(file.changed());
    CHECK(folder.names() == Names{"a.toml"});
    REQUIRE_FALSE(file.keep_draft().has_value());
    CHECK(folder.names() == Names{".a.toml.desk-draft", "a.toml"});
    CHECK(folder.read("a.toml") == before);
    CHECK(file.save().saved == Saved::done);
    CHECK(folder.read("a.toml") == after);
    CHECK(folder.names() == Names{"a.toml"});
    CHECK(file.saved_at().has_value());
    struct stat about {};
    REQUIRE(::stat((folder.path() / "a.toml").c_str(), &about) == 0);
    CHECK((about.st_mode & 07777U) == 0640);
    CHECK(file.undo());
    CHECK(file.changed());
    CHECK(file.text() == before);
    CHECK(file.save().saved == Saved::done);
    CHECK(folder.read("a.toml") == before);
}

TEST_CASE("a draft goes when what was typed is taken back") {
    const Folder folder;
    folder.write("a.toml", before);
    tools::DeskFile file = opened(folder);
    REQUIRE_FALSE(file.edit(after, "title").has_value());
    REQUIRE_FALSE(file.keep_draft().has_value());
    CHECK(file.undo());
    REQUIRE_FALSE(file.keep_draft().has_value());
    CHECK(folder.names() == Names{"a.toml"});
}

TEST_CASE("what somebody else wrote is not overwritten without a question") {
    const Folder folder;
    folder.write("a.toml", before);
    tools::DeskFile file = opened(folder);
    REQUIRE_FALSE(file.edit(after, "title").has_value());
    CHECK(file.look() == Seen::as_saved);
    // of the same length, and with the times of the old one
    struct stat old {};
    const std::string path = (folder.path() / "a.toml").string();
    REQUIRE(::stat(path.c_str(), &old) == 0);
    const std::string theirs = "# plant\ntitle = \"c\"\n";
    folder.write("a.toml", theirs);
    const timespec times[2] = {old.st_atim, old.st_mtim};
    REQUIRE(::utimensat(AT_FDCWD, path.c_str(), times, 0) == 0);
    CHECK(file.save().saved == Saved::foreign);
    CHECK(folder.read("a.toml") == theirs);
    CHECK(file.theirs() == theirs);
    CHECK(file.text() == after);
    CHECK(file.save().saved == Saved::foreign);
    SUBCASE("it is overwritten after the question") {
        CHECK(file.save_over().saved == Saved::done);
        CHECK(folder.read("a.toml") == after);
        CHECK_FALSE(file.foreign());
        CHECK(folder.names() == Names{"a.toml"});
    }
    SUBCASE("not if it changed again") {
        folder.write("a.toml", "d = 1\n");
        CHECK(file.save_over().saved == Saved::foreign);
        CHECK(folder.read("a.toml") == "d = 1\n");
        CHECK(file.theirs() == "d = 1\n");
    }
    SUBCASE("theirs is taken, and mine comes back by undo") {
        file.take_theirs();
        CHECK(file.text() == theirs);
        CHECK_FALSE(file.changed());
        CHECK_FALSE(file.foreign());
        CHECK(file.undo());
        CHECK(file.text() == after);
        CHECK(file.save().saved == Saved::done);
        CHECK(folder.read("a.toml") == after);
    }
}

TEST_CASE("looking finds what somebody else did to the file") {
    const Folder folder;
    folder.write("a.toml", before);
    tools::DeskFile file = opened(folder);
    REQUIRE_FALSE(file.edit(after, "title").has_value());
    CHECK(file.look() == Seen::as_saved);
    const std::string path = (folder.path() / "a.toml").string(), theirs = "# plant\ntitle = \"c\"\n";
    folder.write("a.toml", theirs);
    SUBCASE("looking finds it") {
        CHECK(file.look() == Seen::foreign);
        CHECK(file.theirs() == theirs);
        folder.write("a.toml", before);  // and that it is as it was again
        CHECK(file.look() == Seen::as_saved);
        CHECK_FALSE(file.foreign());
    }
    SUBCASE("as it was typed here it is nobody else's") {
        REQUIRE_FALSE(file.keep_draft().has_value());
        folder.write("a.toml", after);
        CHECK(file.look() == Seen::as_saved);
        CHECK_FALSE(file.changed());
        REQUIRE_FALSE(file.keep_draft().has_value());
        CHECK(folder.names() == Names{"a.toml"});
    }
    SUBCASE("removed") {
        fs::remove(path);
        CHECK(file.look() == Seen::foreign);
        CHECK_FALSE(file.theirs().has_value());
        CHECK(file.save().saved == Saved::foreign);
        CHECK_FALSE(fs::exists(path));
        CHECK(file.save_over().saved == Saved::done);
        CHECK(folder.read("a.toml") == after);
    }
    SUBCASE("a link in its place is not followed") {
        folder.write("other.toml", before);
        fs::remove(path);
        fs::create_symlink("other.toml", path);
        CHECK(file.save().saved == Saved::failed);
        CHECK(file.save_over().saved == Saved::failed);
        CHECK(folder.read("other.toml") == before);
        CHECK(fs::is_symlink(path));
    }
}

TEST_CASE("a new file takes no name that is there") {
    const Folder folder;
    folder.write("a.toml", before);
    CHECK_FALSE(tools::DeskFile::begin(folder.beneath(), "a.toml", after).ok());
    auto begun = tools::DeskFile::begin(folder.beneath(), "b.toml", after);
    REQUIRE(begun.ok());
    tools::DeskFile file = std::move(begun).value();
    CHECK(file.changed());
    CHECK_FALSE(file.in_folder());
    CHECK(folder.names() == Names{"a.toml"});
    SUBCASE("saved") {
        CHECK(file.save().saved == Saved::done);
        CHECK(folder.read("b.toml") == after);
        CHECK_FALSE(file.changed());
    }
    SUBCASE("somebody took the name meanwhile") {
        folder.write("b.toml", before);
        CHECK(file.save().saved == Saved::foreign);
        CHECK(folder.read("b.toml") == before);
        CHECK(file.theirs() == before);
    }
    SUBCASE("saved under another name") {
        const auto answer = file.save_as("a.toml");
        CHECK(answer.saved == Saved::failed);
        CHECK(answer.failure->message == "is there already and is not overwritten; choose another name");
        CHECK(folder.read("a.toml") == before);
        CHECK(file.save_as("../c.toml").saved == Saved::failed);
        REQUIRE_FALSE(file.edit(before, "title").has_value());
        REQUIRE_FALSE(file.keep_draft().has_value());
        CHECK(file.save_as("c.toml").saved == Saved::done);
        CHECK(file.name() == "c.toml");
        CHECK(folder.names() == Names{"a.toml", "c.toml"});
        CHECK(folder.read("c.toml") == before);
    }
}

TEST_CASE("a full disk leaves the old file and the draft whole") {
    const Folder folder;
    folder.write("a.toml", before);
    const std::string longer = after + "# " + std::string(100'000, 'x') + "\n";
    const int answer = in_child([&] {
        auto file = tools::DeskFile::open(folder.beneath(), "a.toml");
        if (!file || file.value().edit(longer, "much") || file.value().keep_draft()) return 1;
        std::signal(SIGXFSZ, SIG_IGN);
        const rlimit limit{50'000, 50'000};
        if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 2;
        const auto saved = file.value().save();
        if (saved.saved != Saved::failed || !saved.failure) return 3;
        if (saved.failure->message.find(
                "File too large; make room on that disk, then save again; what was typed lies in "
                "its draft") == std::string::npos)
            return 4;
        if (!file.value().edit(longer + "# more\n", "more") && !file.value().keep_draft()) return 5;
        if (file.value().save().failure->message.find("lies in no file: copy it") == std::string::npos) return 6;
        return 0;
    });
    CHECK(answer == 0);
    CHECK(folder.read("a.toml") == before);
    CHECK(folder.names() == Names{".a.toml.desk-draft", "a.toml"});
    tools::DeskFile again = opened(folder);
    REQUIRE(again.draft().found().has_value());
    CHECK(again.draft().found()->text == longer);
    CHECK_FALSE(again.draft().found()->file_changed);
}

TEST_CASE("what is longer than a scenario may be is refused when it is typed") {
    const Folder folder;
    folder.write("a.toml", before);
    tools::DeskFile file = opened(folder);
    CHECK(file.edit(std::string(1'000'001, '#'), "much").has_value());
    CHECK(file.edit("a = \"\xFC\"\n", "latin").has_value());
    CHECK(file.text() == before);
    CHECK_FALSE(file.changed());
}
