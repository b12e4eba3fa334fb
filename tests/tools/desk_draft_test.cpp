// Drafts: what was typed is there again whenever the program ended, and two programs at one file know of each other.
#include <doctest/doctest.h>

#include <csignal>
#include <memory>
#include <random>
#include <string>

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/tools/desk_folder.hpp"

namespace {

using namespace desk_test;

std::string text_no(int number) {
    return "# " + std::string(static_cast<std::size_t>(number) * 37 % 5000, 'x') +
           "\nnumber = " + std::to_string(number) + "\n";
}
int number_in(const std::string& text) {
    const std::size_t at = text.find("\nnumber = ");
    if (at == std::string::npos) return -1;
    const int number = std::stoi(text.substr(at + 10));
    return text == text_no(number) ? number : -1;
}

/// Types, keeps and now and then saves, and says which number was kept, or saved, until it is ended.
void type_on(const Folder& folder, int begin, int says) {
    auto file = tools::DeskFile::open(folder.beneath(), "a.toml");
    if (!file) ::_exit(1);
    for (int number = begin;; ++number) {
        if (file.value().edit(text_no(number), "number") || file.value().keep_draft()) ::_exit(2);
        if (::write(says, &number, sizeof number) != sizeof number) ::_exit(3);
        constexpr int saves_each = 5;
        if (number % saves_each == 0 && file.value().save().saved != Saved::done) ::_exit(4);
    }
}

/// The number that it last said before it was killed after so many microseconds, counted from its begin or from the
/// first number.
int killed_after(const Folder& folder, int begin, unsigned microseconds, bool from_first) {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const pid_t child = ::fork();
    if (child == 0) type_on(folder, begin, ends[1]);
    ::close(ends[1]);
    int status = 0, last = begin - 1;
    if (from_first) REQUIRE(::read(ends[0], &last, sizeof last) == sizeof last);
    ::usleep(microseconds);
    ::kill(child, SIGKILL);
    ::waitpid(child, &status, 0);
    REQUIRE(WIFSIGNALED(status));
    for (int said = 0; ::read(ends[0], &said, sizeof said) == sizeof said;) last = said;
    ::close(ends[0]);
    return last;
}

}  // namespace

TEST_CASE("whenever it is killed, what was kept is in the draft or in the file") {
    const Folder folder;
    std::mt19937 random(11);
    int last = 0;
    folder.write("a.toml", text_no(0));
    int drafts = 0;
    for (int round = 0; round < 150; ++round) {
        CAPTURE(round);
        last = killed_after(folder, last + 1, static_cast<unsigned>(random() % 12'000), round % 4 != 0);
        const int saved = number_in(folder.read("a.toml"));
        REQUIRE(saved >= 0);  // whole
        tools::DeskFile file = opened(folder);
        const auto& found = file.draft().found();
        const int kept = found ? number_in(found->text) : saved;
        REQUIRE(kept >= last);
        REQUIRE(kept <= last + 1);
        drafts += found.has_value();
        if (found) {
            CHECK_FALSE(file.draft().elsewhere());
            REQUIRE_FALSE(file.take_draft().has_value());
            REQUIRE(number_in(file.text()) == kept);
        }
        // as the next one does who types and saves: nothing of the killed ones is left then
        last = kept + 1;
        REQUIRE_FALSE(file.edit(text_no(last), "number").has_value());
        REQUIRE_FALSE(file.keep_draft().has_value());
        REQUIRE(file.save().saved == Saved::done);
        REQUIRE(folder.names() == Names{"a.toml"});
    }
    CHECK(drafts > 20);
}

TEST_CASE("a draft that was left is offered, and taken or not") {
    const Folder folder;
    folder.write("a.toml", "a = 1\n");
    {
        tools::DeskFile file = opened(folder);
        REQUIRE_FALSE(file.edit("a = 2\n", "a").has_value());
        REQUIRE_FALSE(file.keep_draft().has_value());
    }
    SUBCASE("taken") {
        tools::DeskFile file = opened(folder);
        REQUIRE(file.draft().found().has_value());
        CHECK(file.text() == "a = 1\n");
        CHECK(file.draft().found()->text == "a = 2\n");
        CHECK(file.draft().found()->kept_at > 1'700'000'000);
        CHECK_FALSE(file.draft().found()->file_changed);
        CHECK_FALSE(file.take_draft().has_value());
        CHECK(file.text() == "a = 2\n");
        CHECK_FALSE(file.draft().found().has_value());
        CHECK(file.undo());
        CHECK(file.text() == "a = 1\n");
        CHECK_FALSE(file.keep_draft().has_value());
        CHECK(folder.names() == Names{"a.toml"});
    }
    SUBCASE("not taken") {
        tools::DeskFile file = opened(folder);
        CHECK_FALSE(file.drop_draft().has_value());
        CHECK(folder.names() == Names{"a.toml"});
        CHECK_FALSE(file.draft().found().has_value());
    }
    SUBCASE("not answered, and typed beside it") {
        {
            tools::DeskFile file = opened(folder);
            REQUIRE_FALSE(file.edit("a = 3\n", "a").has_value());
            REQUIRE_FALSE(file.keep_draft().has_value());
            CHECK(folder.names() == Names{".a.toml.desk-draft", ".a.toml.desk-draft-2", "a.toml"});
            CHECK(file.save().saved == Saved::done);
        }
        CHECK(folder.names() == Names{".a.toml.desk-draft", "a.toml"});
        tools::DeskFile file = opened(folder);
        REQUIRE(file.draft().found().has_value());
        CHECK(file.draft().found()->file_changed);
        CHECK(file.draft().found()->text == "a = 2\n");
    }
    SUBCASE("the file holds it by now") {
        folder.write("a.toml", "a = 2\n");
        tools::DeskFile file = opened(folder);
        CHECK_FALSE(file.draft().found().has_value());
        CHECK(folder.names() == Names{"a.toml"});
    }
    SUBCASE("altered, it is no draft and left alone") {
        std::string bytes = folder.read(".a.toml.desk-draft");
        bytes.back() = 'x';
        folder.write(".a.toml.desk-draft", bytes);
        tools::DeskFile file = opened(folder);
        CHECK_FALSE(file.draft().found().has_value());
        REQUIRE_FALSE(file.edit("a = 4\n", "a").has_value());
        REQUIRE_FALSE(file.keep_draft().has_value());
        CHECK(folder.read(".a.toml.desk-draft") == bytes);
        CHECK(file.save().saved == Saved::done);
    }
}

TEST_CASE("two desks at one file know of each other, and each keeps its own draft") {
    const Folder folder;
    folder.write("a.toml", "a = 1\n");
    auto one = std::make_unique<tools::DeskFile>(opened(folder));
    auto other = std::make_unique<tools::DeskFile>(opened(folder));
    CHECK_FALSE(other->draft().elsewhere());
    REQUIRE_FALSE(one->edit("a = 2\n", "a").has_value());
    REQUIRE_FALSE(one->keep_draft().has_value());
    CHECK(other->look() == Seen::as_saved);
    CHECK(other->draft().elsewhere());
    CHECK_FALSE(one->draft().elsewhere());
    CHECK_FALSE(other->draft().found().has_value());  // it is no left one
    REQUIRE_FALSE(other->edit("a = 3\n", "a").has_value());
    REQUIRE_FALSE(other->keep_draft().has_value());
    one->look();
    CHECK(one->draft().elsewhere());
    // kept again and again, each is still its own
    for (int i = 0; i < 20; ++i) {
        REQUIRE_FALSE(one->edit("a = 2\nb = " + std::to_string(i) + "\n", "b").has_value());
        REQUIRE_FALSE(one->keep_draft().has_value());
        other->look();
        REQUIRE(other->draft().elsewhere());
        REQUIRE_FALSE(other->draft().found().has_value());
    }
    CHECK(one->save().saved == Saved::done);
    CHECK(other->look() == Seen::foreign);
    CHECK_FALSE(other->draft().elsewhere());
    CHECK(other->save().saved == Saved::foreign);
    other->look();
    other.reset();  // ended without saving
    one->look();
    REQUIRE(one->draft().found().has_value());
    CHECK(one->draft().found()->text == "a = 3\n");
    CHECK(one->draft().found()->file_changed);
}

TEST_CASE("a new file that was never saved is found again by its draft") {
    const Folder folder;
    {
        auto begun = tools::DeskFile::begin(folder.beneath(), "new.toml", "a = 1\n");
        REQUIRE(begun.ok());
        REQUIRE_FALSE(begun.value().edit("a = 2\n", "a").has_value());
        REQUIRE_FALSE(begun.value().keep_draft().has_value());
        CHECK(tools::drafts_left(folder.beneath()).empty());  // it is typed in right now
    }
    const auto left = tools::drafts_left(folder.beneath());
    REQUIRE(left.size() == 1);
    CHECK(left.front().name == "new.toml");
    CHECK_FALSE(tools::DeskFile::recover(folder.beneath(), "other.toml").ok());
    auto again = tools::DeskFile::recover(folder.beneath(), "new.toml");
    REQUIRE(again.ok());
    CHECK(again.value().text() == "a = 2\n");
    CHECK(again.value().changed());
    CHECK(tools::drafts_left(folder.beneath()).empty());
    CHECK(again.value().save().saved == Saved::done);
    CHECK(folder.names() == Names{"new.toml"});
    CHECK(folder.read("new.toml") == "a = 2\n");
}

TEST_CASE("where the folder cannot be written, the draft lies in the state folder") {
    const Folder folder;
    folder.write("a.toml", "a = 1\n");
    fs::permissions(folder.path(), fs::perms(0555));
    fs::permissions(folder.path().parent_path(), fs::perms(0755));
    fs::permissions(folder.path().parent_path() / "state", fs::perms(0777));
    const auto as_user = [&](const auto& does) {
        const pid_t child = ::fork();
        constexpr unsigned nobody = 65534;
        if (child == 0) ::_exit(::geteuid() == 0 && ::setresuid(nobody, nobody, nobody) != 0 ? 9 : does());
        int status = -1;
        ::waitpid(child, &status, 0);
        return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    };
    CHECK(as_user([&] {
              auto file = tools::DeskFile::open(folder.beneath(), "a.toml");
              if (!file || file.value().home().writable()) return 1;
              if (file.value().edit("a = 2\n", "a") || file.value().keep_draft()) return 2;
              if (file.value().edit("a = 3\n", "a") || file.value().keep_draft()) return 3;
              const auto saved = file.value().save();
              if (saved.saved != Saved::failed) return 4;
              return saved.failure->message.find("Permission denied; check the rights") == std::string::npos ? 5 : 0;
          }) == 0);
    CHECK(folder.names() == Names{"a.toml"});
    REQUIRE(Folder::names_in(folder.state()).size() == 1);
    CHECK(Folder::names_in(folder.state()).begin()->ends_with("-a.toml.desk-draft"));
    CHECK(as_user([&] {
              auto file = tools::DeskFile::open(folder.beneath(), "a.toml");
              if (!file || !file.value().draft().found()) return 1;
              if (file.value().draft().found()->text != "a = 3\n") return 2;
              return file.value().drop_draft() ? 3 : 0;
          }) == 0);
    CHECK(Folder::names_in(folder.state()).empty());
    CHECK(folder.read("a.toml") == "a = 1\n");
    fs::permissions(folder.path(), fs::perms(0755));
}
