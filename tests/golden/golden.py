"""The golden net: what the program says about every shipped scenario, drill and profile, and by some more commands, is
kept in the folders beside this file, and compared with what it says now.

    golden.py compare CASE...    status 1 and a short difference if anything is otherwise; writes nothing here
    golden.py complete CASE...   status 1 unless these are all cases there are, each has its folder, and nobody else has
    golden.py list               the names of the cases
    renew CASE... | --all        keeps what it says now, and shows what that changed

The program is $LINKDRILL or build/linkdrill, the one for drills $DRILL_OUTCOME or build/drill_outcome. With --keep FOLDER
`compare` leaves there what was made, uncut: of a text of which only hashes are kept, two builds can so be compared.
"""

import argparse
import difflib
import itertools
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from cases import HERE, SOURCE, Case, all_cases, is_input, stored_folders
from documents import Masks, kept

LINES_SHOWN = 24  # of the difference of one document
LETTERS_SHOWN = 160  # of a line of it
DOCUMENTS_SHOWN = 6
SECONDS_OF_A_STEP = 280


def program(name: str, variable: str) -> str:
    return str(Path(os.environ.get(variable) or SOURCE / "build" / name).resolve())


PROGRAMS = {
    "linkdrill": program("linkdrill", "LINKDRILL"),
    "drill_outcome": program("drill_outcome", "DRILL_OUTCOME"),
}


def environment(folder: Path) -> dict[str, str]:
    """Nothing of the caller's: neither a cache nor a terminal nor a language may make a difference."""
    taken = {key: value for key, value in os.environ.items() if key.endswith("SAN_OPTIONS")}
    return taken | {"PATH": "/usr/bin:/bin", "HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache")}


def made_by(case: Case, keep: Path | None) -> dict[str, str]:
    """Runs the case in a folder of its own: the documents that it makes, by name, as they are kept."""
    with tempfile.TemporaryDirectory(prefix="golden-") as name:
        folder = Path(name).resolve()
        shutil.copytree(SOURCE / "scenarios", folder / "scenarios")
        (folder / "out").mkdir()
        (folder / "scenarios/golden").mkdir()
        for own in case.folder.glob("*.toml"):
            shutil.copy(own, folder / "scenarios/golden")
        env = environment(folder)
        said = subprocess.run([PROGRAMS["linkdrill"], "--version"], capture_output=True, text=True, env=env, check=True)
        masks = Masks(said.stdout.split()[1], str(folder))
        raw: dict[str, bytes] = {}
        ran = ""
        for step in case.steps:
            try:
                done = subprocess.run(
                    [PROGRAMS[step.words[0]], *step.words[1:]],
                    cwd=folder, env=env, capture_output=True, stdin=subprocess.DEVNULL, timeout=SECONDS_OF_A_STEP,
                )  # fmt: skip
            except (OSError, subprocess.TimeoutExpired) as problem:
                sys.exit(f"{case.name}: {' '.join(step.words)}: {problem}")
            errors = masks.errors(done.stderr.decode("utf-8", "surrogateescape"))
            ran += f"{step.document}: {' '.join(step.words)}\n    status {done.returncode}\n"
            ran += "".join(f"    standard error: {line}\n" for line in errors.splitlines())
            if done.stdout:
                raw[step.document] = done.stdout
        for path in sorted((folder / "out").rglob("*")):
            if path.is_file() and path.name != ".linkdrill":
                raw[path.relative_to(folder).as_posix()] = path.read_bytes()
        if keep:
            for document, data in raw.items():
                (keep / case.name / document).parent.mkdir(parents=True, exist_ok=True)
                (keep / case.name / document).write_bytes(data)

    result: dict[str, str] = {}
    seen: dict[bytes, str] = {}
    for document, data in raw.items():
        if data in seen:
            ran += f"{document} is {seen[data]}\n"
            continue
        seen[data] = document
        name, text = kept(document, data, masks)
        result[name] = text
    for step in case.steps:
        digest = re.search(rb'^  "digest": "?(0x[0-9A-F]{16}|\d+)', raw.get(step.document, b""), re.MULTILINE)
        if digest:
            name = "digest" if step.document == "run.json" else Path(step.document).stem + ".digest"
            result[name] = digest[1].decode() + "\n"
    result["ran"] = ran
    return result


def stored(case: Case) -> dict[str, str]:
    files = (path for path in case.folder.rglob("*") if path.is_file() and not is_input(path))
    return {
        path.relative_to(case.folder).as_posix(): path.read_bytes().decode("utf-8", "surrogateescape") for path in files
    }


def cut(lines: list[str]) -> list[str]:
    """Lines of a unified difference, at most some; of a long one what begins shortly before it departs from the line that
    it was or became."""
    begins, gone = [0] * len(lines), []
    for sign, group in itertools.groupby(range(len(lines)), key=lambda i: lines[i][:1]):
        members = list(group)
        for old, new in zip(gone, members if sign == "+" else ()):
            departs = len(os.path.commonprefix([lines[old][1:], lines[new][1:]]))
            begins[old] = begins[new] = max(0, departs - LETTERS_SHOWN // 2)
        gone = members if sign == "-" else []
    shown = []
    for line, begin in zip(lines[:LINES_SHOWN], begins):
        text = line[1:]
        if len(text) > LETTERS_SHOWN:
            after = " ..." if len(text) > begin + LETTERS_SHOWN else ""
            text = ("... " if begin else "") + text[begin : begin + LETTERS_SHOWN] + after
        shown.append(line[:1] + text)
    return shown + [f"... and {len(lines) - LINES_SHOWN} lines more"] * (len(lines) > LINES_SHOWN)


def telling(name: str) -> tuple[bool, bool, bool, str]:
    """Sorts the names of documents by how much a difference in them tells."""
    return (not name.endswith("digest"), name != "ran", not name.endswith((".txt", ".csv")), name)


def difference(case: Case, before: dict[str, str], now: dict[str, str]) -> str:
    """A short unified difference of the documents that tell most, and the names of the others; or an empty text."""
    told = ""
    differ = [name for name in sorted(before.keys() | now.keys(), key=telling) if before.get(name) != now.get(name)]
    for name in differ[:DOCUMENTS_SHOWN]:
        old, new = before.get(name, "").splitlines(), now.get(name, "").splitlines()
        lines = list(difflib.unified_diff(old, new, lineterm="", n=2))[2:]
        what = "differs" if name in before and name in now else "is new" if name in now else "is not made any more"
        if name.endswith("digest") and name in before and name in now:
            what += ": THE FINGERPRINT OF THE RUN IS ANOTHER ONE"
        told += f"{case.name}/{name} {what}\n"
        told += "".join(f"    {line}\n" for line in cut(lines) or ["(line ends only)"])
    if differ[DOCUMENTS_SHOWN:]:
        told += f"{case.name}: besides {', '.join(differ[DOCUMENTS_SHOWN:])}\n"
    return told


def chosen(names: list[str]) -> list[Case]:
    cases = all_cases()
    unknown = [name for name in names if name not in cases]
    if unknown or not names:
        sys.exit(f"golden: no such case: {' '.join(unknown)}" if unknown else "golden: name a case; `golden.py list`")
    return [cases[name] for name in names]


def compare(names: list[str], keep: Path | None) -> bool:
    good = True
    for case in chosen(names):
        before = stored(case)
        if not before:
            told = f"{case.name}: nothing is kept of this case yet\n"
        else:
            told = difference(case, before, made_by(case, keep))
        if told:
            good = False
            print(told + f"If that is meant: tests/golden/renew {case.name}")
    return good


def complete(names: list[str]) -> bool:
    cases, folders = set(all_cases()), stored_folders()
    problems = [f"{name}: nothing is kept of this case; tests/golden/renew {name}" for name in cases - folders]
    problems += [f"tests/golden/{name}: of no case; its scenario is gone, so it should go too" for name in folders - cases]
    problems += [f"{name}: a case that is no test; configure anew" for name in cases - set(names)]
    problems += [f"{name}: a test of no case" for name in set(names) - cases]
    print("\n".join(sorted(problems)) if problems else f"{len(cases)} cases, each with what is kept of it")
    return not problems


def renew(names: list[str], everything: bool) -> bool:
    cases = list(all_cases().values()) if everything else chosen(names)
    for case in cases:
        before, now = stored(case), made_by(case, None)
        told = difference(case, before, now) if before else f"{case.name}: kept for the first time\n"
        print(told or f"{case.name}: as before", end="" if told else "\n", flush=True)
        for name in before.keys() - now.keys():
            (case.folder / name).unlink()
        for name, text in now.items():
            (case.folder / name).parent.mkdir(parents=True, exist_ok=True)
            (case.folder / name).write_bytes(text.encode("utf-8", "surrogateescape"))
    if everything:
        for name in sorted(stored_folders() - set(all_cases())):
            print(f"{name}: of no case any more, removed")
            shutil.rmtree(HERE / name)
    # a changed fingerprint asks for another number of the model
    return subprocess.run([sys.executable, "-B", str(HERE / "models.py"), "keep"], check=False).returncode == 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("compare", "complete", "list", "renew"))
    parser.add_argument("cases", nargs="*", metavar="CASE")
    parser.add_argument("--all", action="store_true", help="with renew and compare: every case")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="with compare: leave the documents there, uncut")
    wanted = parser.parse_args()
    if wanted.what == "list":
        print("\n".join(all_cases()))
        return
    if wanted.what == "complete":
        good = complete(wanted.cases)
    elif wanted.what == "renew":
        good = renew(wanted.cases, wanted.all)
    else:
        good = compare(list(all_cases()) if wanted.all else wanted.cases, wanted.keep)
    sys.exit(0 if good else 1)


main()
