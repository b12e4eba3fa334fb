"""The top of the repository tells the story: it holds exactly these, dot-files, and nothing that a build leaves."""

from sources import finish, git_files, source_root

EXPECTED = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "sim", "proto", "tools", "tests", "scenarios"}


def main() -> None:
    root = source_root()
    files = git_files(root)
    if files is not None:
        found = {name.split("/")[0] for name in files}
    else:  # no repository, an unpacked archive: what builds and rehearsals leave is not its content
        found = {p.name for p in root.iterdir() if not p.name.startswith("build") and p.name != "linkdrill-out"}
    found = {name for name in found if not name.startswith(".")}
    problems = [f"{name}: does not belong to the top level" for name in sorted(found - EXPECTED)]
    problems += [f"{name}: is missing" for name in sorted(EXPECTED - found)]
    finish(problems, len(found), "entries of the top level")


main()
