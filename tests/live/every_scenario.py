"""Every scenario that ships gives the verdict of its virtual run live too, where this computer is in time to judge.

Several run at once, since they mostly wait. One that was too late is tried again with slower time; too late
even then is said and is no failure of the scenario, but half of them must have been judged. Days are left to virtual
time."""
import concurrent.futures
import glob
import json
import os
import re
import subprocess
import sys
import tempfile

PROGRAM = os.environ["LINKDRILL"]
SCENARIOS = os.path.join(os.environ["SOURCE"], "scenarios")
LONGEST_S = 60
AT_ONCE = 6
LATE_MS = 3
TRIES = ([], ["--times-slower", "2"])


def seconds(file):
    with open(file, encoding="utf-8") as text:
        found = re.search(r'^duration = "(\d+(?:\.\d+)?) (ms|s|min|h)"', text.read(), re.MULTILINE)
    return float(found[1]) * {"ms": 0.001, "s": 1, "min": 60, "h": 3600}[found[2]]


def run(file, folder, *mode):
    done = subprocess.run([PROGRAM, "run", file, "--json", "--out", folder, *mode],
                          capture_output=True, text=True, timeout=4 * LONGEST_S)
    if "--live" in mode and done.returncode == 2 and "a live run cannot know" in done.stderr:
        return None  # its faults have conditions
    assert done.returncode in (0, 1, 3), f"status {done.returncode}: {done.stderr}"
    return json.loads(done.stdout)


def story(result):
    return [(one["id"], one["fault"], one["outcome"], one["as_expected"]) for one in result["injections"]]


def differences(virtual, live):
    differs = [f"{key}: virtual {virtual[key]}, live {live[key]}"
               for key in ("verdict", "as_expected") if virtual[key] != live[key]]
    differs += [f"injection: virtual {a}, live {b}" for a, b in zip(story(virtual), story(live)) if a != b]
    if len(virtual["injections"]) != len(live["injections"]):
        differs.append("another number of injections")
    return differs


def compare(file):
    with tempfile.TemporaryDirectory() as folder:
        virtual = run(file, os.path.join(folder, "virtual"))
        for attempt, slower in enumerate(TRIES):
            live = run(file, os.path.join(folder, f"live{attempt}"), "--live", "--real-time", *slower)
            if live is None:
                return "virtual time only", None, []
            if live["verdict"] == "not-judged":
                print(f"  {os.path.basename(file)}, try {attempt + 1}: too late to judge, {live['lateness_ms']}")
                continue
            differs = differences(virtual, live)
            # times agree within the lateness only, and some scenarios end a few milliseconds from a limit: what differs
            # in a run that was late is looked at once more
            if not differs or live["lateness_ms"]["max"] < LATE_MS:
                break
            print(f"  {os.path.basename(file)}, try {attempt + 1}: {live['lateness_ms']['max']} ms late, {differs}")
        if live["verdict"] == "not-judged":
            return "not judged", live["lateness_ms"], []
    return live["verdict"], live["lateness_ms"], differs


files = sorted(file for file in glob.glob(os.path.join(SCENARIOS, "*", "*.toml"))
               if os.path.basename(os.path.dirname(file)) not in ("profiles", "drills") and seconds(file) <= LONGEST_S)
assert len(files) >= 10, "the scenarios were not found"
files.sort(key=seconds, reverse=True)
failed = judged = left_out = 0
with concurrent.futures.ThreadPoolExecutor(AT_ONCE) as pool:
    for file, (verdict, lateness, differs) in zip(files, pool.map(compare, files)):
        if lateness is None:
            left_out += 1
            print(f"{os.path.relpath(file, SCENARIOS)}: {verdict}", flush=True)
            continue
        judged += verdict != "not judged"
        print(f"{os.path.relpath(file, SCENARIOS)}: {verdict}, latest timer {lateness['max']} ms", flush=True)
        for line in differs:
            print("  ", line)
        failed += bool(differs)
print(f"{judged} of {len(files) - left_out} judged, {failed} differ")
sys.exit(1 if failed or judged * 2 < len(files) - left_out else 0)
