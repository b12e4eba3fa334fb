"""Which cases of the golden net there are. All are found by what lies in scenarios/ and here, none is listed by hand.

    scenarios/PLANT/NAME   each scenarios/**/*.toml but those below: checked, rehearsed, gathered into a report
    drills/NAME            each scenarios/drills/*.toml but the action cards: seen, solved and done wrong
    profiles/NAME          each scenarios/profiles/*.toml: checked
    modules/NAME           each scenarios/modules/*.toml: checked
    commands/NAME          each folder here with a file `command`: what stands in it

A line of a file `command` names a document and the command line that prints it, for example
    page.txt  linkdrill campaign scenarios/veneer_press/all_errors.toml --trials 3000 --out out
It is run in a folder that holds a copy of scenarios/; what it leaves in out/ belongs to the case too. A scenario of its
own (*.toml) beside `command` is in scenarios/golden/ there.
"""

import shlex
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
SOURCE = HERE.parents[1]
GROUPS = ("scenarios", "drills", "profiles", "modules", "commands")

# The page of `run` is also summary.txt; where a rehearsal is long it is not run once more to compare the two.
LONG = {"scenarios/veneer_press/fault_free_day"}


@dataclass
class Step:
    document: str  # what its standard output is called
    words: list[str]  # "linkdrill" or "drill_outcome", and arguments


@dataclass
class Case:
    name: str
    steps: list[Step]

    @property
    def folder(self) -> Path:
        return HERE / self.name


def is_input(path: Path) -> bool:
    """Whether a file of a case is what was written for it, not what is kept of it."""
    return path.name == "command" or path.suffix == ".toml"


def _of_scenario(name: str, file: str) -> Case:
    steps = [
        Step("check.txt", ["linkdrill", "check", file]),
        Step("check.json", ["linkdrill", "check", file, "--json"]),
        Step("run.json", ["linkdrill", "run", file, "--json", "--out", "out"]),
        Step("report.txt", ["linkdrill", "report", "out"]),
    ]
    if name not in LONG:
        steps.insert(2, Step("run.txt", ["linkdrill", "run", file, "--out", "out"]))
    return Case(name, steps)


def _of_part(name: str, file: str) -> Case:
    return Case(
        name,
        [
            Step("check.txt", ["linkdrill", "check", file]),
            Step("check.json", ["linkdrill", "check", file, "--json"]),
        ],
    )


def _of_commands(name: str, file: Path) -> Case:
    steps = []
    for line in file.read_text().splitlines():
        words = shlex.split(line, comments=True)
        if words:
            steps.append(Step(words[0], words[1:]))
    return Case(name, steps)


def all_cases() -> dict[str, Case]:
    cases = []
    for path in (SOURCE / "scenarios").rglob("*.toml"):
        file = path.relative_to(SOURCE).as_posix()
        below = path.relative_to(SOURCE / "scenarios").with_suffix("").as_posix()
        if below.startswith(("profiles/", "modules/")):
            cases.append(_of_part(below, file))
        elif path.parent.name == "drills":
            if path.name != "actions.toml":
                step = Step("drill.txt", ["drill_outcome", "scenarios/drills", path.stem, "out"])
                cases.append(Case(below, [step]))
        else:  # the plants of the drills are scenarios like any other
            cases.append(_of_scenario("scenarios/" + below, file))
    for path in (HERE / "commands").glob("*/command"):
        cases.append(_of_commands(f"commands/{path.parent.name}", path))
    return {case.name: case for case in sorted(cases, key=lambda case: case.name)}


def stored_folders() -> set[str]:
    """The folders here in which something is kept: each should be a case."""
    found = set()
    for group in GROUPS:
        for path in (HERE / group).rglob("*"):
            folder = path.parent
            if path.is_file() and not is_input(path):
                # what a run leaves lies one folder further down
                folder = folder.parent if folder.name == "out" else folder
                found.add(folder.relative_to(HERE).as_posix())
    return found
