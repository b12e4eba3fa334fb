"""Setting the time of day while a live run lasts changes nothing: forward by seconds or an hour, and back.

The program sees another time of day, and so does what the kernel notes of datagrams, by a library that is loaded before
the system's own (support/stepped_clock.c); nobody else's clock is touched."""
import json
import os
import shutil
import subprocess
import sys
import tempfile

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
sys.exit(0)
