"""Flips one bit at a time in stores of campaigns and asks the program for the result: the same as before, or refused
with status 2 and one line, the file then left as it was. Never another result.

LINKDRILL_STORE_FLIPS says how many flips; the same seed gives the same ones.
"""

import hashlib
import os
import random
import subprocess
import sys
from collections import Counter

program, source = sys.argv[1], sys.argv[2]
flips = int(os.environ.get("LINKDRILL_STORE_FLIPS", "240"))
scenario = os.path.join(source, "scenarios/stage_lift/creeping_delay.toml")


def campaign(*arguments: str) -> subprocess.CompletedProcess:
    command = [program, "campaign", scenario, "--jobs", "1", "--json", *arguments]
    return subprocess.run(command, capture_output=True, timeout=120, check=False)


class Case:
    """A store, and the command that reads it with the result that it gives."""

    def __init__(self, name: str, file: str, *command: str) -> None:
        self.name, self.command = name, command
        with open(file, "rb") as store:
            self.whole = store.read()
        with open("bent.sqlite", "wb") as store:
            store.write(self.whole)
        self.result = campaign(*command)
        assert self.result.returncode == 1, self.result.stderr

    def flip(self, draw: random.Random) -> str:
        bit = draw.randrange(8 * len(self.whole))
        bent = bytearray(self.whole)
        bent[bit // 8] ^= 1 << bit % 8
        with open("bent.sqlite", "wb") as store:
            store.write(bent)
        result = campaign(*self.command)
        where = f"{self.name}, bit {bit}"
        said = result.stderr.decode()
        if result.returncode == self.result.returncode:
            assert result.stdout == self.result.stdout, f"{where}: ANOTHER RESULT"
            kind = "the same result"
        else:
            assert result.returncode == 2 and said.count("\n") == 1, (where, result.returncode, said)
            assert any(words in said for words in ("it was left alone", "another version", "judges otherwise")), (where, said)
            with open("bent.sqlite", "rb") as store:
                left = store.read()
            assert hashlib.sha256(left).digest() == hashlib.sha256(bent).digest(), f"{where}: written to"
            kind = "refused"
        beside = [name for name in os.listdir(".") if name.startswith("bent.sqlite-")]
        assert not beside, (where, beside)
        return kind


for trials, name in ((60, "small.sqlite"), (2000, "large.sqlite"), (300, "begun.sqlite")):
    assert campaign("--trials", str(trials), "--store", name).returncode == 1
for keep in ("dangerous", "summary"):
    assert campaign("--trials", "500", "--keep", keep, "--store", f"{keep}.sqlite").returncode == 1
for part in ("1/2", "2/2"):
    assert campaign("--trials", "301", "--shard", part, "--store", f"part{part[0]}.sqlite").returncode == 1
cases = [
    Case("60 trials", "small.sqlite", "--trials", "60", "--store", "bent.sqlite", "--resume"),
    Case("2000 trials", "large.sqlite", "--trials", "2000", "--store", "bent.sqlite", "--resume"),
    Case("300 of 400 trials, gone on with", "begun.sqlite", "--trials", "400", "--store", "bent.sqlite", "--resume"),
    Case("a part, joined", "part2.sqlite", "--merge", "part1.sqlite", "bent.sqlite"),
    *(
        Case(f"500 trials, {keep}", f"{keep}.sqlite", "--trials", "500", "--keep", keep, "--store", "bent.sqlite", "--resume")
        for keep in ("dangerous", "summary")
    ),
]
chance = random.Random(20240229)
failures = 0
counts = {case.name: Counter() for case in cases}
for number in range(flips):
    case = cases[number % len(cases)]
    try:
        counts[case.name][case.flip(chance)] += 1
    except AssertionError as wrong:
        failures += 1
        print("FAILED:", wrong, flush=True)
for name, count in counts.items():
    print(f"{name}: {', '.join(f'{kind} {n}' for kind, n in sorted(count.items()))}")
    # both kinds come up, or the flips do not reach what they should
    failures += set(count) != {"the same result", "refused"}
sys.exit(failures > 0)
