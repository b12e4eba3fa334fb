"""No test compares by doctest's Approx: it allows its epsilon absolutely too, so that for values far below 1 such a
check cannot fail. tests/support/close.hpp has the comparison that is relative all the way down."""

import re

from sources import code_only, cpp_files, finish, source_root


def main() -> None:
    root = source_root()
    problems: list[str] = []
    files = cpp_files(root / "tests")
    for path in files:
        for number, line in enumerate(code_only(path.read_text()).splitlines(), 1):
            if re.search(r"\bApprox\b", line):
                where = f"{path.relative_to(root).as_posix()}:{number}"
                problems.append(f"{where}: Approx takes anything for values far below 1; use close_to()")
    finish(problems, len(files), "files of tests")


main()
