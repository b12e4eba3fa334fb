"""Bends one value at a time in the documents of a folder and asks report for its dossier: it is made, or refused with
status 2 and one line that names the file, and then nothing of the folder changes. Never an abort.

LINKDRILL_REPORT_MUTATIONS says how many; the same seed gives the same ones.
"""

import json
import os
import random
import shutil
import subprocess
import sys
from collections import Counter

program, source = sys.argv[1], sys.argv[2]
mutations = int(os.environ.get("LINKDRILL_REPORT_MUTATIONS", "300"))
scenario = os.path.join(source, "scenarios/veneer_press/all_errors.toml")
cell = os.path.join(source, "scenarios/glass_line/cell.toml")
guards = os.path.join(source, "scenarios/log_debarker/guards.toml")
profile = os.path.join(source, "scenarios/profiles/crc32_carried.toml")


def run(*words: str) -> subprocess.CompletedProcess:
    return subprocess.run([program, *words], capture_output=True, timeout=60, check=False)


for words in (
    ("run", scenario, "--capture", "0"),
    ("response", scenario, "--placings", "100"),
    ("watchdog", scenario),
    ("campaign", scenario, "--trials", "100"),
    ("endurance", scenario, "--years", "0.01"),
    ("residual", profile, "--data-bits", "64"),
    ("residual", scenario),
    ("measures", profile, "--trials", "10"),
):
    made = run(*words, "--out", "whole")
    assert made.returncode in (0, 1), made.stderr
assert run("run", guards, "--capture", "0", "--out", "guards").returncode in (0, 1)
assert run("run", cell, "--capture", "0", "--out", "cell").returncode in (0, 1)
folders = {}
for folder in ("whole", "guards", "cell"):
    assert run("report", folder).returncode == 0
    names = sorted(name for name in os.listdir(folder) if name.endswith(".json"))
    folders[folder] = {name: json.load(open(os.path.join(folder, name))) for name in names}
assert len(folders["whole"]) == 11, list(folders["whole"])

# what may stand where something else stood
VALUES = [None, True, False, 0, -1, 1.5, -0.25, 1e300, -1e300, 2**63, 2**64 - 1, -(2**63), "", "x", "0x", "<b>&amp;</b>",
          "\x00\x1b[31m", "A" * 5000, [], {}, [[]], [{}], {"a": 1}, [1, "x", None]]  # fmt: skip


def places(value: object) -> list[tuple]:
    """Each (list or object, key) of a tree."""
    keys = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    return [place for key in keys for place in [(value, key), *places(value[key])]]


def bend(document: dict, chance: random.Random) -> str:
    there, key = chance.choice(places(document))
    kind = chance.randrange(10)
    if kind == 0:
        del there[key]
        return f"{key!r} removed"
    if kind == 1 and isinstance(there, dict):
        there[chance.choice(["new", "", "a.b", "x" * 300])] = chance.choice(VALUES)
        return f"a key beside {key!r}"
    other, from_key = chance.choice(places(document))
    value = json.loads(json.dumps(other[from_key] if kind < 4 else chance.choice(VALUES)))
    said = f"{key!r} was {str(there[key])[:60]!r}, is {str(value)[:60]!r}"
    there[key] = value
    return said


def contents(folder: str) -> dict[str, bytes]:
    return {name: open(os.path.join(folder, name), "rb").read() for name in sorted(os.listdir(folder))}


chance = random.Random(20240301)
count, failures = Counter(), 0
for number in range(mutations):
    folder = chance.choice(sorted(folders))
    # each fifth time what is drawn: it is small, and would seldom be met
    drawn = number % 5 == 0
    name = "plant.json" if drawn else chance.choice(sorted(folders[folder]))
    document = json.loads(json.dumps(folders[folder][name]))
    said = bend(document["drawing"] if drawn else document, chance)
    shutil.rmtree("bent", ignore_errors=True)
    shutil.copytree(folder, "bent")
    with open(f"bent/{name}", "w") as file:
        json.dump(document, file)
    before = contents("bent")
    made = run("report", "bent")
    line = made.stderr.decode()
    right = made.returncode == 0
    if made.returncode == 2:
        right = line.count("\n") == 1 and line.startswith("bent") and ".json" in line and contents("bent") == before
    if not right:
        failures += 1
        print(f"FAILED: {folder}/{name}, {said}: status {made.returncode}, {line[:300]!r}", flush=True)
    count[made.returncode] += 1
print(f"{mutations} documents bent: {count[0]} gave a dossier, {count[2]} were refused")
# both come up, or what is bent is not read
sys.exit(failures > 0 or not (count[0] and count[2] > count[0]))
