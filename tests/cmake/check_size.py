"""Nothing grows too big to be read: no file over 400 lines, no function over 70, no class over 25 public methods.

A function's lines are those of its body, as clang-tidy's readability-function-size counts them. Methods are counted by
clang: constructors, destructors and what is defaulted or deleted aside.
"""

import re
import shutil
import subprocess
import tempfile
from collections import Counter
from pathlib import Path

from scopes import scopes_of
from sources import finish, git_files, source_root

LINES_OF_FILE, LINES_OF_FUNCTION, METHODS_OF_CLASS = 400, 70, 25

# What is bigger, and how big it is at most. No entry may come in, and no number may rise; an entry that is no longer
# needed must go.
FILES: dict[str, int] = {
    "tests/proto/codec_test.cpp": 415,
    "tests/proto/polled_test.cpp": 493,
    "tests/sim/channel_test.cpp": 423,
}
FUNCTIONS: dict[str, int] = {}
CLASSES: dict[str, int] = {
    "sim/channel/channel.hpp: Channel": 30,
    "sim/training/bench.hpp: Bench": 27,
}

FOLDERS = ("proto/", "sim/", "tools/", "tests/")
ENDINGS = (".cpp", ".hpp", ".js", ".mjs", ".css", ".py", ".sh", ".bash")

METHODS = """cxxMethodDecl(isPublic(), unless(anyOf(isImplicit(), isDefaulted(), isDeleted(), cxxConstructorDecl(),
    cxxDestructorDecl(), isTemplateInstantiation())), hasParent(decl(anyOf(cxxRecordDecl().bind("class"),
    functionTemplateDecl(hasParent(cxxRecordDecl().bind("class")))))))"""


def sources_of(root: Path) -> list[str]:
    """C++, JavaScript, CSS, Python and shell, these with or without an ending."""
    names = git_files(root)
    if names is None:
        names = [p.relative_to(root).as_posix() for folder in FOLDERS for p in (root / folder).rglob("*")]
    names = [n for n in names if n.startswith(FOLDERS) and (root / n).is_file()]

    def is_source(name: str) -> bool:
        return name.endswith(ENDINGS) or ("." not in Path(name).name and (root / name).read_bytes()[:2] == b"#!")

    return sorted(n for n in names if is_source(n))


def function_name(name: str, begin: int, lines: list[str]) -> str:
    """The name; of a test case, whose macro has that of all others, its title."""
    if not name.isupper():
        return name
    above = [title[1] for line in lines[:begin] if (title := re.search(r'_CASE\w*\("(.+?)"', line))]
    return above[-1] if above else name


def methods_of(root: Path, files: list[str]) -> Counter[str]:
    """The public methods of each class that these files define, by "file: class", or what is in the way."""
    query = shutil.which("clang-query") or shutil.which("clang-query-14")
    if query is None:
        raise SystemExit("no clang-query: tools/setup tests installs it")
    with tempfile.TemporaryDirectory() as folder:
        # One translation unit: what takes the time is the standard library.
        unit = Path(folder) / "all.cpp"
        unit.write_text("".join(f'#include "{name}"\n' for name in files))
        commands = ["set bind-root false", "set output diag", "match " + " ".join(METHODS.split())]
        command = [query, *[word for c in commands for word in ("-c", c)], str(unit)]
        command += ["--", "-std=c++20", f"-I{root}", "-x", "c++", "-w"]
        answer = subprocess.run(command, capture_output=True, text=True, timeout=280)
    wrong = [line for line in (answer.stdout + answer.stderr).splitlines() if re.search(r"\berror: ", line)]
    if wrong:
        raise SystemExit("clang cannot read the headers as one unit:\n" + "\n".join(wrong[:10]))
    found: Counter[str] = Counter()
    for place, line in re.findall(r'^(.*?):(\d+):\d+: note: "class" binds here$', answer.stdout, re.MULTILINE):
        path = Path(place)
        if path.is_relative_to(root):
            name = path.relative_to(root).as_posix()
            words = path.read_text().splitlines()[int(line) - 1]
            title = re.search(r"(?:class|struct|union)\s+(?:\[\[.*?\]\]\s*)?(\w+)", words)
            found[f"{name}: {title[1] if title else line}"] += 1
    return found


def judge(what: str, sizes: dict[str, int], most: int, exceptions: dict[str, int]) -> list[str]:
    """What is too big, what an exception allows beyond need, and exceptions of what is not there."""
    problems = []
    for name, size in sizes.items():
        if size > exceptions.get(name, most):
            problems.append(f"{name}: {size} {what}, more than {exceptions.get(name, most)}")
    for name in exceptions:
        if sizes.get(name, 0) <= most:
            problems.append(f"{name}: has no more than {most} {what} now; take it out of the exceptions")
    return problems


def main() -> None:
    root = source_root()
    files = sources_of(root)
    texts = {name: (root / name).read_text() for name in files}
    functions: dict[str, int] = {}
    to_parse = [name for name in files if name.endswith(".hpp") and not name.startswith("tests/")]
    for name, text in texts.items():
        if not name.endswith((".cpp", ".hpp")):
            continue
        lines = text.splitlines()
        for scope in scopes_of(text):
            if scope.kind == "function":
                key = f"{name}: {function_name(scope.name, scope.begin, lines)}"
                functions[key] = max(functions.get(key, 0), scope.end - scope.begin)
            elif scope.methods > METHODS_OF_CLASS and name not in to_parse:
                to_parse.append(name)
    classes = methods_of(root, to_parse)
    problems = judge("lines", {name: text.count("\n") for name, text in texts.items()}, LINES_OF_FILE, FILES)
    problems += judge("lines of body", functions, LINES_OF_FUNCTION, FUNCTIONS)
    problems += judge("public methods", classes, METHODS_OF_CLASS, CLASSES)
    if not classes or not functions:
        problems.append("found no class with a public method, or no function: nothing was counted")
    finish(problems, len(files), "files")


main()
