"""Setting the time of day while a live run lasts changes nothing: forward by seconds or an hour, and back.

The program sees another time of day, and so does what the kernel notes of datagrams, by a library that is loaded before
the system's own (support/stepped_clock.c); nobody else's clock is touched."""
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from support.parts import Parts
from support.punctual import SKIPPED, skip
from support.quiet_press import quiet_press

PROGRAM = os.environ["LINKDRILL"]
SOURCE = os.path.join(os.environ["SOURCE"], "tests", "live", "support", "stepped_clock.c")
ALLOWED_MS = 12.0  # a fifth of the watchdog

compiler = shutil.which("cc") or shutil.which("gcc")
if compiler is None:
    print("skipped: there is no C compiler")
    sys.exit(SKIPPED)

with tempfile.TemporaryDirectory() as folder:
    library = os.path.join(folder, "stepped_clock.so")
    subprocess.run([compiler, "-O1", "-shared", "-fPIC", "-o", library, SOURCE], check=True, timeout=60)
    scenario = quiet_press(folder, demand=True)
    for steps in ("", "1.5:+5 2.5:-8", "1.0:+3600 2.0:-7200"):
        done = subprocess.run([PROGRAM, "run", scenario, "--json", "--live", "--out", os.path.join(folder, "out")],
                              env={**os.environ, "LD_PRELOAD": library, "STEPS": steps}, capture_output=True, text=True,
                              timeout=60)
        result = json.loads(done.stdout)
        late = result["lateness_ms"]["max"]
        print(f"steps \"{steps}\": status {done.returncode}, {result['verdict']}, {late} ms late")
        if late > ALLOWED_MS and not steps:
            skip(f"a run with the clock as it is was {late} ms late")
        if 1000 > late > ALLOWED_MS:
            skip(f"this computer itself was {late} ms late")  # a step would be seconds
        assert done.returncode == 0 and result["verdict"] == "pass", (steps, result["verdict"], late)

    # and a computer that stood still is late, also if its clock is set as it wakes
    os.environ.update({"LD_PRELOAD": library, "STEPS": "1.6:+3600"})
    parts = Parts(scenario, os.path.join(folder, "stood"))
    time.sleep(1.4)
    parts.running["channel"].send_signal(signal.SIGSTOP)
    time.sleep(0.4)
    parts.running["channel"].send_signal(signal.SIGCONT)
    status, result, _ = parts.joined()
    print(f"channel stood still, and its clock was set: status {status}, {result['lateness_ms']['max']} ms late")
    assert status == 3 and result["lateness_ms"]["max"] > 100, (status, result["lateness_ms"])
sys.exit(0)
