"""Every C++ file is as clang-format writes it with the repository's .clang-format. What clang-tidy finds is asked by
tools/lint: that takes minutes, this a few seconds."""

import os
import re
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor

from sources import cpp_files, finish, source_root

FOLDERS = ("proto", "sim", "tools", "tests")


def badly_formatted(formatter: str, files: list[str]) -> list[str]:
    """The first wrong line of each of these files. Throws if the formatter did not run properly."""
    command = [formatter, "--dry-run", "--Werror", "--style=file", *files]
    answer = subprocess.run(command, capture_output=True, text=True, timeout=280)
    places = re.findall(r"^(.+?):(\d+):\d+: error: ", answer.stderr, re.MULTILINE)
    if answer.returncode != 0 and not places:
        raise SystemExit(f"{formatter} could not check: {answer.stderr.strip()}")
    first: dict[str, str] = {}
    for name, line in places:
        first.setdefault(name, line)
    return [f"{name}:{line}: is not as clang-format -i would write it" for name, line in first.items()]


def main() -> None:
    root = source_root()
    os.chdir(root)
    formatter = shutil.which("clang-format") or shutil.which("clang-format-14")
    if formatter is None:
        raise SystemExit("no clang-format: tools/setup tests installs it")
    files = [path.relative_to(root).as_posix() for folder in FOLDERS for path in cpp_files(root / folder)]
    # A few processes, since starting one takes as long as formatting a file.
    workers = os.cpu_count() or 1
    shares = [share for share in (files[i::workers] for i in range(workers)) if share]
    with ThreadPoolExecutor(workers) as pool:
        found = list(pool.map(lambda share: badly_formatted(formatter, share), shares))
    finish(sorted(problem for problems in found for problem in problems), len(files), "files")


main()
