"""A part that is ended and started anew goes on with the run, and counts as switched off and on.

The verdict is that of a scenario whose own fault switches the same end off for as long. Where the channel was away there
is none, and when. A part whose record nobody has, gets none either; and a whole run that is begun anew is a run of its
own."""
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from support.parts import PROGRAM, Parts
from support.punctual import skip
from support.quiet_press import quiet_press

ALLOWED_MS = 12.0  # a fifth of the watchdog
AWAY_FROM_S, AWAY_S = 1.5, 0.5


def switched_off(end):
    return (f'[[fault]]\nway = "restart"\nat_end = "{end}"\nat = "{AWAY_FROM_S} s"\nlasting = "{AWAY_S} s"\n\n')


def told(result):
    """What must be the same, however the end was switched off."""
    outcome = [(i["fault"], i["at_end"], i["outcome"], i["detected_by"]) for i in result["injections"]]
    return result["verdict"], outcome, result["spurious_trips"], result["dangerous"], result["stops"]


def on_time(what, result):
    late = result["lateness_ms"]["max"]
    if late > ALLOWED_MS:
        skip(f"{what} was {late} ms late")


def by_hand(scenario, out, part, how, away=AWAY_S):
    parts = Parts(scenario, out)
    time.sleep(AWAY_FROM_S)
    status, _, err = parts.end(part, how)
    assert status == (-signal.SIGKILL if how == signal.SIGKILL else 130), (status, err)
    time.sleep(away)
    parts.start(part)
    return parts.joined()


with tempfile.TemporaryDirectory() as folder:
    quiet = quiet_press(folder, demand=True)

    for end in ("device", "controller"):
        by_fault = subprocess.run([PROGRAM, "run", quiet_press(folder, f"{end}.toml", switched_off(end), demand=True), "--json", "--live",
                                   "--out", os.path.join(folder, f"{end}-fault")], capture_output=True, text=True,
                                  timeout=60)
        expected = json.loads(by_fault.stdout)
        on_time("the run with a fault", expected)
        for how in (signal.SIGKILL, signal.SIGINT):
            out = os.path.join(folder, f"{end}-{how}")
            status, result, said = by_hand(quiet, out, end, how)
            on_time(f"the run with the {end} started anew", result)
            away = result["away"]
            print(f"{end} ended by {how.name} and started anew: {told(result)[0]}, {away}")
            assert told(result) == told(expected), (told(result), told(expected))
            assert status == by_fault.returncode, (status, by_fault.returncode)
            assert len(away) == 1 and away[0]["part"] == end and away[0]["recorded"], away
            assert away[0]["from_ms"] < away[0]["until_ms"] - AWAY_S * 1000 * 0.9, away
            assert any("away from" in remark for remark in result["remarks"]), result["remarks"]
            assert "goes on with the run" in said[end], said[end]

    status, result, said = by_hand(quiet, os.path.join(folder, "channel"), "channel", signal.SIGKILL)
    on_time("the run with the channel started anew", result)
    print(f"channel: {result['verdict']}, {result['away']}, {result['network']}")
    assert status == 3 and result["verdict"] == "not-judged" and result["dangerous"] == [], (status, result["dangerous"])
    assert [one["part"] for one in result["away"]] == ["channel"], result["away"]
    assert sum(leg["lost"] for leg in result["network"]) == 0, result["network"]

    # an error that acts while nobody is there is not rehearsed
    corrupted = quiet_press(folder, "corrupted.toml", '[[fault]]\nerror = "corruption"\nway = "random-bits"\ncount = 3\n'
                            'direction = "to-device"\nat = "1.7 s"\n\n')
    status, result, said = by_hand(corrupted, os.path.join(folder, "corrupted"), "device", signal.SIGKILL)
    on_time("the run with an error while the device was away", result)
    assert status == 3 and any("was not rehearsed" in remark for remark in result["remarks"]), (status, result["remarks"])

    # another seed, or a changed file, is refused while the others are at work, and the right command still goes on
    parts = Parts(quiet_press(folder, "edited.toml"), os.path.join(folder, "edited"))
    time.sleep(1.2)
    parts.end("device", signal.SIGKILL)
    parts.start("device", "--seed", "6")
    status, _, err = parts.end("device", None)
    assert status == 2 and "give the command as it was" in err, (status, err)
    with open(parts.scenario, encoding="utf-8") as file:
        as_it_was = file.read()
    quiet_press(folder, "edited.toml", switched_off("device"))
    parts.start("device")
    status, _, err = parts.end("device", None)
    assert status == 2 and "give the command as it was" in err, (status, err)
    with open(parts.scenario, "w", encoding="utf-8") as file:
        file.write(as_it_was)
    parts.start("device")
    status, result, said = parts.joined()
    on_time("the run that somebody mistyped", result)
    assert status == 0 and len(result["away"]) == 1 and result["away"][0]["recorded"], (status, result["away"])

    # its record is gone: what it did before nobody knows
    parts = Parts(quiet, os.path.join(folder, "gone"))
    time.sleep(AWAY_FROM_S)
    parts.end("device", signal.SIGKILL)
    os.remove(os.path.join(folder, "gone", "part-device.txt"))
    parts.start("device")
    status, result, said = parts.joined()
    assert status == 3 and result["away"] and not result["away"][0]["recorded"], (status, result["away"])

    # all of them begun anew, in the same folder and within the time of the first run
    parts = Parts(quiet, os.path.join(folder, "anew"))
    time.sleep(AWAY_FROM_S)
    for part in ("channel", "device", "controller"):
        parts.end(part, signal.SIGINT)
    for part in ("channel", "device", "controller"):
        parts.start(part)
    status, result, said = parts.joined()
    on_time("the run begun anew", result)
    assert status == 0 and result["away"] == [], (status, result["away"], said)

    # alone, each second it says for whom it waits
    parts = Parts(quiet, os.path.join(folder, "alone"), order=("device",))
    time.sleep(2.5)
    status, _, err = parts.end("device", signal.SIGINT)
    waits = [line for line in err.splitlines() if "waits for the channel at 127.0.0.1:" in line]
    print(err.strip())
    assert status == 130 and len(waits) == 2, err
    assert "not heard yet" in waits[0] and "start-up" in waits[0] and "no good telegram yet" in waits[0], waits
    shutil.rmtree(os.path.join(folder, "alone"))
sys.exit(0)
