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

from support.ports import free_ports
from support.punctual import skip

PROGRAM = os.environ["LINKDRILL"]
SHORT_PRESS = os.path.join(os.environ["SOURCE"], "tests", "live", "short_press.toml")
ALLOWED_MS = 12.0  # a fifth of the watchdog


def quiet_press(folder):
    """The same press with nothing going wrong."""
    with open(SHORT_PRESS, encoding="utf-8") as file:
        text = file.read()
    quiet = text[:text.index("[[fault]]")].replace("../../scenarios", os.path.join(os.environ["SOURCE"], "scenarios"))
    path = os.path.join(folder, "quiet.toml")
    with open(path, "w", encoding="utf-8") as file:
        file.write(quiet)
    return path


def stop_for(process, seconds):
    process.send_signal(signal.SIGSTOP)
    time.sleep(seconds)
    process.send_signal(signal.SIGCONT)


def start(*arguments):
    return subprocess.Popen([PROGRAM, "run", *arguments, "--json", "--live"], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True)


def three_processes(scenario, folder, stopped, seconds, anew=False):
    """The document of the part that joined; `stopped`: the part that stands still, or None; `anew`: it is killed, and
    started again after that time."""
    controller, channel, device = (f"127.0.0.1:{port}" for port in free_ports(3))
    typed = {"controller": ["--listen", controller, "--peer", channel], "device": ["--listen", device, "--peer", channel],
             "channel": ["--listen", channel, "--peer", f"{controller},{device}"]}
    out = os.path.join(folder, f"three-{stopped}-{seconds}-{anew}")
    running = {part: start(scenario, "--as", part, *typed[part], "--out", out) for part in typed}
    time.sleep(1.5)
    if anew:
        running[stopped].kill()
        running[stopped].communicate()
        time.sleep(seconds)
        running[stopped] = start(scenario, "--as", stopped, *typed[stopped], "--out", out)
    elif stopped:
        stop_for(running[stopped], seconds)
    told = [(process, *process.communicate(timeout=60)) for process in running.values()]
    for process, text, err in told:
        assert process.returncode in (0, 1, 3), (process.returncode, err)
        result = json.loads(text)
        if result.get("lateness_ms"):
            return process.returncode, result
    raise AssertionError("no part joined the records")


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

    status, result = three_processes(scenario, folder, "device", 0.5, anew=True)
    print(f"device killed, and started anew after 0.5 s: status {status}, {result['verdict']}: {result['remarks']}")
    assert status == 3, (status, result["verdict"])
    assert any("started anew" in remark for remark in result["remarks"]), result["remarks"]

    across = start(SHORT_PRESS, "--out", os.path.join(folder, "one"))
    time.sleep(3.7)
    stop_for(across, 0.8)
    text, err = across.communicate(timeout=60)
    result = json.loads(text)
    print(f"stopped across the end: status {across.returncode}, {result['lateness_ms']['max']} ms late")
    assert across.returncode == 3, (across.returncode, result["verdict"], result["lateness_ms"])
sys.exit(0)
