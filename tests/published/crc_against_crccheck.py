#!/usr/bin/python3
"""Compares `linkdrill crc NAME --hex BYTES --json` with Debian's python3-crccheck (1.0), an implementation by other
hands that restates the catalogue of parametrised CRC algorithms (reveng.sourceforge.io/crc-catalogue).

Every name of the program's own list (`crc --list --json`) that
crccheck knows too is tried on messages of 0 to 300 bytes, drawn with a fixed seed.

Environment: LINKDRILL, the program. Exit codes: 0 all agree, 1 something differs or could not be compared.
"""
import concurrent.futures
import json
import os
import random
import subprocess
import sys

try:
    from crccheck.crc import ALLCRCCLASSES
except ImportError:
    print("crc_against_crccheck: python3-crccheck is not there; install it (apt-get install python3-crccheck)")
    sys.exit(1)

SEED = 20240607
MESSAGES_A_NAME = 6  # lengths 0, 1, 300 and three between
LEAST_NAMES = 60  # of the catalogue as it is; fewer means that names got lost


def messages_for(name):
    draws = random.Random(f"{SEED} {name}")
    lengths = [0, 1, 300] + [draws.randrange(2, 300) for _ in range(MESSAGES_A_NAME - 3)]
    return [bytes(draws.getrandbits(8) for _ in range(length)) for length in lengths]


def ask(program, name, message):
    """The program's value, or a string that says why there is none."""
    run = subprocess.run([program, "crc", name, "--hex", message.hex(), "--json"], capture_output=True, text=True, timeout=60)
    if run.returncode != 0:
        return f"exit code {run.returncode}: {run.stderr.strip()}"
    try:
        answer = json.loads(run.stdout)
        if answer["name"] != name:
            return f"answers for {answer['name']!r}"
        return int(answer["value"], 16)
    except (ValueError, KeyError, TypeError) as problem:
        return f"no usable JSON ({problem}): {run.stdout.strip()!r}"


def names_in(value):
    """Every "name" in a JSON value, however it is nested."""
    if isinstance(value, dict):
        own = [value["name"]] if isinstance(value.get("name"), str) else []
        return own + [name for inner in value.values() for name in names_in(inner)]
    if isinstance(value, list):
        return [name for inner in value for name in names_in(inner)]
    return []


def listed_names(program):
    run = subprocess.run([program, "crc", "--list", "--json"], capture_output=True, text=True, timeout=60)
    if run.returncode != 0:
        sys.exit(f"crc_against_crccheck: `{program} crc --list --json` ends with {run.returncode}: {run.stderr.strip()}")
    try:
        return set(names_in(json.loads(run.stdout)))
    except ValueError as problem:
        sys.exit(f"crc_against_crccheck: `{program} crc --list --json` prints no JSON: {problem}")


def main():
    program = os.environ.get("LINKDRILL")
    if not program:
        print("crc_against_crccheck: LINKDRILL names no program; set it to the path of the binary")
        return 1
    known = {crc._names[0]: crc for crc in ALLCRCCLASSES if crc._names and 8 <= crc._width <= 64}
    names = sorted(listed_names(program) & set(known))
    if len(names) < LEAST_NAMES:
        print(f"crc_against_crccheck: only {len(names)} names to compare, at least {LEAST_NAMES} expected")
        return 1

    jobs = [(name, message) for name in names for message in messages_for(name)]
    differing = 0
    with concurrent.futures.ThreadPoolExecutor(max_workers=2) as pool:
        answers = pool.map(lambda job: ask(program, *job), jobs)
        for (name, message), ours in zip(jobs, answers):
            theirs = known[name].calc(message)
            if ours != theirs:
                differing += 1
                shown = f"0x{ours:X}" if isinstance(ours, int) else ours
                print(f"{name} over {len(message)} bytes {message.hex()}: crccheck 0x{theirs:X}, ours {shown}")
    print(f"crc_against_crccheck: {len(jobs)} values of {len(names)} names compared, {differing} differ")
    return 1 if differing or not jobs else 0


if __name__ == "__main__":
    sys.exit(main())
