"""Runs the table wrong_files.txt. Needs LINKDRILL (the program) and SOURCE (the repository).

A row of the table begins with "* NAME"; then "- " is what stands in the good file and "+ " what stands there instead,
or "@ " the whole file; all of them as in a Python bytes literal. "= " is what is said, behind the file's name; "! "
that the schema of scenarios refuses it too. With --keep it writes what is said into the table, to be looked at.
"""

import json
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from jsonschema import Draft7Validator

SOURCE = Path(os.environ["SOURCE"])
TABLE = SOURCE / "tests/tools/wrong_files.txt"
GOOD = (SOURCE / "scenarios/veneer_press/all_errors.toml").read_bytes()


def rows() -> list[dict]:
    found = []
    for line in TABLE.read_text().splitlines():
        mark, _, rest = line.partition(" ")
        if mark == "*":
            found.append({"name": rest, "says": None, "schema": False})
        elif mark in "-+@" and mark:
            found[-1][mark] = eval(f"b'''{rest}'''")  # the table is ours
        elif mark == "=":
            found[-1]["says"] = rest
        elif mark == "!":
            found[-1]["schema"] = True
    return found


def bent(row: dict) -> bytes:
    if "@" in row:
        return row["@"]
    if GOOD.count(row["-"]) < 1:
        raise SystemExit(f"{row['name']}: the good file has no {row['-']}")
    return GOOD.replace(row["-"], row["+"], 1)


def refused_by(schema: Draft7Validator, content: bytes) -> bool:
    return not schema.is_valid(tomllib.loads(content.decode()))


def main() -> None:
    schema = Draft7Validator(json.loads((SOURCE / "scenarios/scenario.schema.json").read_text()))
    assert not refused_by(schema, GOOD)
    failures, all_rows, refused = [], rows(), 0
    kept = {}
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plant.toml"
        for row in all_rows:
            file.write_bytes(bent(row))
            ended = subprocess.run(
                [os.environ["LINKDRILL"], "check", "plant.toml"], cwd=folder, capture_output=True, text=True, timeout=20
            )
            said = ended.stderr.rstrip("\n").removeprefix("plant.toml").replace(str(SOURCE) + "/", "")
            kept[row["name"]] = said
            if ended.returncode != 2 or ended.stdout or ended.stderr.count("\n") != 1:
                failures.append(f"{row['name']}: status {ended.returncode}, {ended.stdout[:300]}{ended.stderr}")
            elif said != row["says"]:
                failures.append(f"{row['name']}:\n  says    {said}\n  not     {row['says']}")
            if row["schema"]:
                refused += 1
                if not refused_by(schema, bent(row)):
                    failures.append(f"{row['name']}: fits the schema")
    if "--keep" in sys.argv:
        lines, name = [], ""
        for line in TABLE.read_text().splitlines():
            if line.startswith("* "):
                name = line[2:]
            if line.startswith("= ") or (line == "="):
                line = "= " + kept[name]
            lines.append(line)
        TABLE.write_text("\n".join(lines) + "\n")
        return
    print("\n".join(failures))
    print(f"{len(all_rows)} wrong files, {refused} of them refused by the schema, {len(failures)} failures")
    if failures or len(all_rows) < 50 or refused < 12:
        raise SystemExit(1)


main()
