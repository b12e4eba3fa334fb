"""What a page of documentation shows is what a reader gets: page_blocks.py PAGE, a path below the root.

Every fenced block of the page says what it is, and is taken by that:
  sh      pasted into a shell as it stands; must end with status 0
  none    a session: lines that begin with "$ " are typed, all others are the standard output, to the last character;
          a line "..." stands for any lines
  toml    must be TOML
  text    anything else
A block that takes long, needs a network or waits for Ctrl-C has the line <!-- not run: WHY --> above it; it must still
be words that a shell understands. All blocks run in a copy of the repository, in which nothing may be left that git
does not ignore.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "cmake"))
from sources import git_files  # noqa: E402

MARK = re.compile(r"<!-- not run: (.+) -->")
LONGEST_S = 280


class Block:
    def __init__(self, line: int, kind: str, why_not: str | None) -> None:
        self.line, self.kind, self.why_not = line, kind, why_not
        self.lines: list[str] = []


def blocks_of(text: str) -> list[Block]:
    found: list[Block] = []
    open_one: Block | None = None
    before = ""
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("```"):
            if open_one is None:
                mark = MARK.fullmatch(before)
                open_one = Block(number, line[3:].strip(), mark[1] if mark else None)
                found.append(open_one)
            else:
                open_one = None
        elif open_one is not None:
            open_one.lines.append(line)
        before = line
    if open_one is not None:
        raise SystemExit(f"line {open_one.line}: a block without an end")
    return found


def trimmed(lines: list[str]) -> list[str]:
    while lines and not lines[0].strip():
        lines = lines[1:]
    while lines and not lines[-1].strip():
        lines = lines[:-1]
    return [line.rstrip() for line in lines]


def differs(shown: list[str], said: list[str]) -> str | None:
    """None where `said` is what is shown; else the first shown line that is not there."""
    chunks: list[list[str]] = [[]]
    for line in shown:
        if line == "...":
            chunks.append([])
        else:
            chunks[-1].append(line)
    at = 0
    for index, chunk in enumerate(chunks):
        last = index == len(chunks) - 1
        if index == 0:
            places = [0]
        elif last:
            places = [len(said) - len(chunk)]
        else:
            places = list(range(at, len(said) - len(chunk) + 1))
        if not any(p >= at and said[p : p + len(chunk)] == chunk for p in places):
            here = places[0] if len(places) == 1 else -1
            for offset, line in enumerate(chunk):
                got = said[here + offset] if 0 <= here + offset < len(said) else None
                if (got != line) if here >= 0 else (line not in said):
                    return f"shown: {line!r}" + (f"\n      said:  {got!r}" if here >= 0 else "")
            return f"not there as it is shown, or not in this order: {chunk[0] if chunk else 'the end'!r}"
        at = next(p for p in places if p >= at and said[p : p + len(chunk)] == chunk) + len(chunk)
    return None if "..." in shown or at == len(said) else f"said besides: {said[at]!r}"


def try_differs() -> None:
    """The comparison itself finds what is wrong."""
    said = ["a", "b", "c", "d"]
    for shown in (["a", "b", "c", "d"], ["a", "...", "d"], ["...", "c", "..."], ["a", "..."], ["...", "b", "...", "d"]):
        assert differs(shown, said) is None, shown
    for shown in (["a", "b", "c"], ["b", "..."], ["a", "...", "c"], ["...", "c", "...", "b", "..."], ["a", "c"], []):
        assert differs(shown, said) is not None, shown


def copied(source: Path, to: Path) -> None:
    names = git_files(source)
    if names is None:  # an unpacked archive
        names = [str(p.relative_to(source)) for p in source.rglob("*") if p.is_file()]
        names = [n for n in names if not n.startswith(("build", "linkdrill-out/"))]
    for name in names:
        if name.startswith("tests/") or not (source / name).is_file():
            continue
        (to / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source / name, to / name)
    git = ["git", "-c", "user.name=nobody", "-c", "user.email=nobody@invalid", "-c", "commit.gpgsign=false"]
    for words in (["init", "-q"], ["add", "-A"], ["commit", "-qm", "as it was"]):
        subprocess.run(git + words, cwd=to, check=True)


def environment(work: Path, clone: Path) -> dict[str, str]:
    """The program is built already: what builds it has nothing to do."""
    (clone / "build").mkdir()
    (clone / "build" / "build.ninja").touch()
    (clone / "build" / "linkdrill").symlink_to(os.environ["LINKDRILL"])
    for name, text in (("cmake", "exit 0"), ("linkdrill", f'exec "{clone}/build/linkdrill" "$@"')):
        tool = work / "bin" / name
        tool.parent.mkdir(exist_ok=True)
        tool.write_text(f"#!/bin/sh\n{text}\n")
        tool.chmod(0o755)
    (work / "home").mkdir()
    return {**os.environ, "PATH": f"{work}/bin:{os.environ['PATH']}", "HOME": str(work / "home"), "LC_ALL": "C.UTF-8"}


def shell(words: str, clone: Path, env: dict[str, str], *options: str) -> tuple[int, str, str]:
    """Status, what a reader gets, and what stands on standard error: progress, where the computer is slow. The copy's own
    path is left out, for nobody else's is called so."""
    try:
        done = subprocess.run(
            ["bash", *options, "-c", words], cwd=clone, env=env, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=LONGEST_S, check=False,
        )
    except subprocess.TimeoutExpired:
        return -1, "", f"not at its end after {LONGEST_S} s"
    told = [text.decode(errors="replace").replace(f"{clone}/", "") for text in (done.stdout, done.stderr)]
    return done.returncode, *told


def wrong_words(words: str) -> str | None:
    """What a reader who pastes it would stumble over, as far as it can be seen without running it."""
    for line in words.splitlines():
        if line.startswith("$ "):
            return f"a prompt in what is pasted: {line}"
        code = line.split(" #")[0]
        if re.search(r"<[A-Za-z]", code):
            return f"a shell would take it for a redirection: {line}"
        if re.search(r"\S {2,}[A-Za-z]", code):
            return f"words without a # before them: {line}"
    status = subprocess.run(["bash", "-n", "-c", words], capture_output=True, text=True, check=False)
    return None if status.returncode == 0 else status.stderr.strip()


def session(block: Block, clone: Path, env: dict[str, str]) -> tuple[int, list[str]]:
    """How many commands were compared, and what is wrong."""
    turns: list[tuple[str, list[str]]] = []
    for line in block.lines:
        if line.startswith("$ "):
            turns.append((line[2:], []))
        elif turns:
            turns[-1][1].append(line)
        elif line.strip():
            return 0, ["output of no command; begin with '$ ', or say sh, toml or text behind the fence"]
    problems = [f"{command}: {wrong}" for command, _ in turns if (wrong := wrong_words(command))]
    problems += [f"{command}: no output is shown; say sh" for command, shown in turns if not trimmed(shown)]
    if problems or block.why_not:
        return 0, problems
    for command, shown in turns:
        _, said, errors = shell(command, clone, env)
        wrong = differs(trimmed(shown), trimmed(said.splitlines()))
        if wrong:
            problems.append(f"{command}:\n      {wrong}\n      {errors.strip()[-400:]}")
    return len(turns), problems


def pasted(block: Block, clone: Path, env: dict[str, str]) -> list[str]:
    words = "\n".join(block.lines)
    wrong = wrong_words(words)
    if wrong or block.why_not:
        return [wrong] if wrong else []
    status, _, errors = shell(words, clone, env, "-e")
    return [] if status == 0 else [f"ends with status {status}: {errors.strip()[-400:]}"]


def looked_at(block: Block, clone: Path, env: dict[str, str]) -> tuple[int, list[str]]:
    if block.kind == "":
        return session(block, clone, env)
    if block.kind == "sh":
        return int(not block.why_not), pasted(block, clone, env)
    if block.kind == "toml":
        try:
            tomllib.loads("\n".join(block.lines))
        except tomllib.TOMLDecodeError as error:
            return 1, [str(error)]
        return 1, []
    return 0, [] if block.kind == "text" else [f"```{block.kind}: say sh, toml, text or nothing"]


def main() -> None:
    try_differs()
    source, page = Path(os.environ["SOURCE"]), sys.argv[1]
    checked, not_run, problems = 0, 0, []
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        clone = work / "linkdrill"
        clone.mkdir()
        copied(source, clone)
        env = environment(work, clone)
        for block in blocks_of((clone / page).read_text()):
            count, wrong = looked_at(block, clone, env)
            checked += count
            not_run += block.why_not is not None
            problems += [f"{page}:{block.line}: {one}" for one in wrong]
        left = subprocess.run(["git", "status", "--porcelain"], cwd=clone, capture_output=True, text=True, check=True)
        problems += [f"{page}: leaves in the repository: {line}" for line in left.stdout.splitlines()]
    print("\n".join(problems + [f"{page}: {checked} checked, {not_run} not run"]))
    sys.exit(1 if problems else 0)


main()
