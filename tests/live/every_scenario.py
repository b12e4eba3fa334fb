"""Every scenario that ships gives the verdict of its virtual run live too, where this computer is in time to judge.

Several run at once, since they mostly wait. One that was too late is tried again with slower time; too late even then is
said and is no failure of the scenario, but where fewer than half of them were judged the whole test is skipped. What
differs on a computer that was on time is a failure. Days are left to virtual time."""
import concurrent.futures
import glob
import json
import os
import re
import subprocess
import sys
import tempfile

from support.punctual import latest_ms, on_time, skip, slower

PROGRAM = os.environ["LINKDRILL"]
SCENARIOS = os.path.join(os.environ["SOURCE"], "scenarios")
LONGEST_S = 60
AT_ONCE = 6
TIMES_SLOWER = (1, 2)


def seconds(file):
    with open(file, encoding="utf-8") as text:
        found = re.search(r'^duration = "(\d+(?:\.\d+)?) (ms|s|min|h)"', text.read(), re.MULTILINE)
    return float(found[1]) * {"ms": 0.001, "s": 1, "min": 60, "h": 3600}[found[2]]


def run(file, folder, *mode):
    done = subprocess.run([PROGRAM, "run", file, "--json", "--out", folder, *mode],
                          capture_output=True, text=True, timeout=4 * LONGEST_S)
    refused = ("a live run cannot know", "values are judged in virtual time only",
               "cannot reach each other")
    if "--live" in mode and done.returncode == 2 and any(words in done.stderr for words in refused):
        return None
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
        for times in TIMES_SLOWER:
            live = run(file, os.path.join(folder, f"live{times}"), "--live", "--real-time", *slower(times))
            if live is None:
                return "virtual time only", None, []
            late = f"{latest_ms(live, times):.2f} ms late at times-slower {times}"
            if live["verdict"] == "not-judged" and not on_time(live, times):
                print(f"  {os.path.basename(file)}: too late to judge, {late}")
                continue
            differs = differences(virtual, live)
            # times agree within the lateness only, and some scenarios end a few milliseconds from a limit: what differs
            # in a run that was late tells nothing
            if not differs or on_time(live, times):
                return live["verdict"], late, differs
            print(f"  {os.path.basename(file)}: {late}, {differs}")
    return "not judged", late, []


files = sorted(file for file in glob.glob(os.path.join(SCENARIOS, "*", "*.toml"))
               if os.path.basename(os.path.dirname(file)) not in ("profiles", "modules", "drills") and seconds(file) <= LONGEST_S
               and "[[link]]" not in open(file).read())  # a cell has a test of its own, cell_live.py
assert len(files) >= 10, "the scenarios were not found"
files.sort(key=seconds, reverse=True)
failed = judged = left_out = 0
latenesses = []
with concurrent.futures.ThreadPoolExecutor(AT_ONCE) as pool:
    for file, (verdict, lateness, differs) in zip(files, pool.map(compare, files)):
        if lateness is None:
            left_out += 1
            print(f"{os.path.relpath(file, SCENARIOS)}: {verdict}", flush=True)
            continue
        judged += verdict != "not judged"
        latenesses.append(lateness)
        print(f"{os.path.relpath(file, SCENARIOS)}: {verdict}, {lateness}", flush=True)
        for line in differs:
            print("  ", line)
        failed += bool(differs)
print(f"{judged} of {len(files) - left_out} judged, {failed} differ")
if failed:
    sys.exit(1)
if judged * 2 < len(files) - left_out:
    skip(f"{judged} of {len(files) - left_out} judged, the last {latenesses[-1]}")
