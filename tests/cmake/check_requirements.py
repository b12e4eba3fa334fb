"""Each requirement of proto/REQUIREMENTS.md is cited by the code of proto or sim and by a test, and no other is cited.

A requirement is a row of a table that starts with `| R-nn |`, or a section that starts with `## R-nn`. One whose
row or section says "left out" needs no code and no test, but a reason: at least three words after "left out".
"""

import re

from sources import cpp_files, finish, source_root

ID = r"\bR-\d+\b"
LEAST_WORDS_OF_A_REASON = 3


def main() -> None:
    root = source_root()
    page = root / "proto" / "REQUIREMENTS.md"
    problems: list[str] = []
    required: dict[str, str] = {}  # id: where it is defined
    known: set[str] = set()

    # A section's text reaches to the next heading; a row is its own text.
    text = page.read_text() if page.is_file() else ""
    for found in re.finditer(r"^(?:\| *(R-\d+)\b[^\n]*|## *(R-\d+)\b(?:(?!^#).)*)", text, re.MULTILINE | re.DOTALL):
        name = found[1] or found[2]
        where = f"proto/REQUIREMENTS.md:{text.count(chr(10), 0, found.start()) + 1}"
        if name in known:
            problems.append(f"{where}: {name} is defined twice")
        known.add(name)
        left_out = re.search(r"left out(.*)", found[0], re.IGNORECASE | re.DOTALL)
        if not left_out:
            required[name] = where
        elif len(re.findall(r"\w+", left_out[1])) < LEAST_WORDS_OF_A_REASON:
            problems.append(f"{where}: {name} is left out without a reason; add it after 'left out'")

    def cited(files: list) -> set[str]:
        names: set[str] = set()
        for path in files:
            for number, line in enumerate(path.read_text(errors="replace").splitlines(), 1):
                for name in re.findall(ID, line):
                    names.add(name)
                    if name not in known:
                        problems.append(f"{path.relative_to(root)}:{number}: {name} is not in proto/REQUIREMENTS.md")
        return names

    in_code = cited(cpp_files(root / "proto") + cpp_files(root / "sim"))
    tests = [p for p in (root / "tests").rglob("*") if p.suffix in (".cpp", ".hpp", ".sh", ".py")]
    in_tests = cited(sorted(p for p in tests if (root / "tests" / "cmake") not in p.parents))
    cited(cpp_files(root / "tools"))

    for name, where in required.items():
        if name not in in_code:
            problems.append(f"{where}: {name} is cited nowhere in the code of proto or sim")
        if name not in in_tests:
            problems.append(f"{where}: {name} is cited by no test")
    finish(problems, len(required), "requirements")


main()
