"""A part that stood still is late, whichever it is and whenever it is noticed: then there is no verdict.

Each part of three is stopped (SIGSTOP) for longer than is allowed while nothing goes wrong in the scenario, and a run in
one process is stopped across its end. A verdict of any kind would be about the computer."""
import json
import os
import signal
import subprocess
import sys
import tempfile
import time

from support.parts import Parts
from support.punctual import skip
from support.quiet_press import SHORT_PRESS, quiet_press

PROGRAM = os.environ["LINKDRILL"]
ALLOWED_MS = 12.0  # a fifth of the watchdog


def stop_for(process, seconds):
    process.send_signal(signal.SIGSTOP)
    time.sleep(seconds)
    process.send_signal(signal.SIGCONT)


def start(*arguments):
    return subprocess.Popen([PROGRAM, "run", *arguments, "--json", "--live"], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True)


def three_processes(scenario, folder, stopped, seconds):
    """Status and document of the part that joined; `stopped`: the part that stands still, or None."""
    parts = Parts(scenario, os.path.join(folder, f"three-{stopped}-{seconds}"))
    time.sleep(1.5)
    if stopped:
        stop_for(parts.running[stopped], seconds)
    status, result, _ = parts.joined()
    return status, result


with tempfile.TemporaryDirectory() as folder:
    scenario = quiet_press(folder)
    status, undisturbed = three_processes(scenario, folder, None, 0)
    late = undisturbed["lateness_ms"]["max"]
    if late > ALLOWED_MS:
        skip(f"a run that nobody stopped was {late} ms late")
    assert status == 0 and undisturbed["verdict"] == "pass", (status, undisturbed["verdict"], late)
    print(f"nobody stopped: {late} ms late at most")
    for part in ("channel", "device", "controller"):
        for seconds in (0.08, 0.4):
            status, result = three_processes(scenario, folder, part, seconds)
            late = result["lateness_ms"]["max"]
            print(f"{part} stopped for {seconds} s: status {status}, {result['verdict']}, {late} ms late")
            assert status == 3, (part, seconds, status, result["verdict"], late)
            assert late > ALLOWED_MS, (part, late)

    across = start(SHORT_PRESS, "--out", os.path.join(folder, "one"))
    time.sleep(3.7)
    stop_for(across, 0.8)
    text, err = across.communicate(timeout=60)
    result = json.loads(text)
    print(f"stopped across the end: status {across.returncode}, {result['lateness_ms']['max']} ms late")
    assert across.returncode == 3, (across.returncode, result["verdict"], result["lateness_ms"])
sys.exit(0)
