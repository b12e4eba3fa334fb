"""No test has a `;` in its name: CMake would split the name into two, and a filter that matches nothing passes.
Also no two tests of one file share a name, or a report could not tell them apart."""

import re

from sources import finish, source_root

NAME = re.compile(r'\b((?:TEST|SCENARIO)_?[A-Z_]*|TEST_SUITE)\s*\(\s*(?:\w+\s*,\s*)?((?:"(?:\\.|[^"\\])*"\s*)+)')


def main() -> None:
    root = source_root()
    problems: list[str] = []
    checked = 0
    for path in sorted((root / "tests").rglob("*_test.cpp")):
        text = path.read_text()
        seen: set[str] = set()
        for found in NAME.finditer(text):
            checked += 1
            name = "".join(re.findall(r'"((?:\\.|[^"\\])*)"', found[2]))
            where = f"{path.relative_to(root)}:{text.count(chr(10), 0, found.start()) + 1}"
            if ";" in name:
                problems.append(f"{where}: a test's name must not have a ';': {name}")
            if name in seen and not found[1].startswith("TEST_SUITE"):
                problems.append(f"{where}: this file has another test of that name: {name}")
            seen.add(name)
    finish(problems, checked, "names of tests")


main()
