"""Files against the schemas in the folder given. Needs LINKDRILL and SOURCE."""

import copy
import json
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from jsonschema import Draft7Validator

SOURCE = Path(os.environ["SOURCE"])
SCENARIOS = SOURCE / "scenarios"
UNITS = re.compile(r"\((ns\||um|deg|s\|min)")
SCHEMAS = {kind: json.loads((Path(sys.argv[1]) / f"{kind}.json").read_text()) for kind in ("scenario", "profile", "module", "drill")}
PROBLEMS: list[str] = []


def kind_of(file: Path) -> str:
    folders = file.relative_to(SCENARIOS).parts[:-1]
    if "profiles" in folders:
        return "profile"
    if "modules" in folders:
        return "module"
    return "drill" if folders == ("drills",) else "scenario"


def shipped() -> list[Path]:
    files = [file for file in sorted(SCENARIOS.rglob("*.toml")) if file.name != "actions.toml"]
    assert len(files) >= 60, files
    return files


def look_at_descriptions(kind: str) -> int:
    """Every property: a sentence, what holds without it, and its units where it has some."""
    seen = 0
    tables = [SCHEMAS[kind], *SCHEMAS[kind]["definitions"].values()]
    for table in tables:
        assert table["type"] == "object" and table["additionalProperties"] is False, table
        for name, key in table["properties"].items():
            seen += 1
            said = key.get("description", "")
            if len(said) < 8:
                PROBLEMS.append(f"{kind}: {name} has no sentence")
            if " Default: " not in said and " Needed" not in said and kind != "drill":
                PROBLEMS.append(f"{kind}: {name}: nothing says what holds without it: {said}")
            forms = key.get("anyOf", [key])
            if any(UNITS.search(form.get("pattern", "")) for form in forms) and " Unit: " not in said:
                PROBLEMS.append(f"{kind}: {name} names no unit: {said}")
            if not any({"type", "$ref", "allOf"} & set(form) for form in forms):
                PROBLEMS.append(f"{kind}: {name} may hold anything")
            default = key.get("default")
            bare = {"properties": {name: key}, "definitions": SCHEMAS[kind]["definitions"]}
            if default is not None and not Draft7Validator(bare).is_valid({name: default}):
                PROBLEMS.append(f"{kind}: {name}: its default {default!r} does not fit")
    return seen


def refused_by_program(content: str, folder: Path) -> bool:
    file = folder / "bent.toml"
    file.write_text(content)
    ended = subprocess.run([os.environ["LINKDRILL"], "check", str(file)], capture_output=True, text=True, timeout=20)
    return ended.returncode == 2


def without_line(text: str, key: str) -> str:
    """Without the first line at the top of the file that gives a key."""
    return re.sub(rf"^{key} = .*\n", "", text, count=1, flags=re.MULTILINE)


def main() -> None:
    for schema in SCHEMAS.values():
        Draft7Validator.check_schema(schema)
    valid = {kind: Draft7Validator(schema) for kind, schema in SCHEMAS.items()}
    mistyped = 0
    for file in shipped():
        kind, text = kind_of(file), file.read_text()
        named = re.match(r"#:schema (\S+)\n", text)
        if not named or (file.parent / named[1]).resolve() != SCENARIOS / f"{kind}.schema.json":
            PROBLEMS.append(f"{file}: its first line does not name {kind}.schema.json")
        document = tomllib.loads(text)
        for error in valid[kind].iter_errors(document):
            PROBLEMS.append(f"{file}: {list(error.absolute_path)}: {error.message[:200]}")
        # a mistyped key in any table of it is refused
        for path in tables_of(document):
            bent = copy.deepcopy(document)
            table = bent
            for step in path:
                table = table[step]
            table["no_such_key"] = 1
            mistyped += 1
            if valid[kind].is_valid(bent) and not path[-1:] in (["bits"], ["values"]):
                PROBLEMS.append(f"{file}: a key more at {path} is let pass")
    # what a schema needs at the top its reader needs too
    needed = 0
    with tempfile.TemporaryDirectory() as name:
        for kind, example in (("scenario", "veneer_press/all_errors.toml"), ("profile", "profiles/crc32_carried.toml"),
                              ("module", "modules/table_io_4_4.toml")):
            text = (SCENARIOS / example).read_text()
            for key in SCHEMAS[kind]["required"]:
                bent = re.sub(rf"^\[{key}\]\n(.+\n)*", "", text, flags=re.MULTILINE)
                bent = without_line(text, key) if bent == text else bent
                assert bent != text, key
                needed += 1
                if not refused_by_program(bent, Path(name)) or valid[kind].is_valid(tomllib.loads(bent)):
                    PROBLEMS.append(f"{kind}: {key} is needed by the one and not by the other")
    keys = sum(look_at_descriptions(kind) for kind in SCHEMAS)
    assert mistyped > 500 and needed >= 4 and keys > 300, (mistyped, needed, keys)
    print("\n".join(PROBLEMS[:40]))
    print(f"{len(shipped())} files, {keys} keys described, {mistyped} mistyped, {needed} left out: {len(PROBLEMS)} problems")
    raise SystemExit(1 if PROBLEMS else 0)


def tables_of(value: object, path: tuple = ()) -> list[list]:
    found = []
    if isinstance(value, dict):
        found.append(list(path))
        for key, below in value.items():
            found += tables_of(below, (*path, key))
    elif isinstance(value, list):
        for index, below in enumerate(value):
            found += tables_of(below, (*path, index))
    return found


main()
