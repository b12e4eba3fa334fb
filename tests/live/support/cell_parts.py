"""The parts of a live run of a cell, each a process of its own."""
import json
import os
import subprocess

from support.ports import free_ports

PROGRAM = os.environ["LINKDRILL"]


class CellParts:
    """Started when made; `stations`: the devices' in the order of the links; `out`: the folder that they share."""

    def __init__(self, scenario, stations, out, order=None, extra=()):
        self.scenario, self.out, self.extra = scenario, out, extra
        devices = [f"device:{station}" for station in stations]
        controller, channel, *of_devices = (f"127.0.0.1:{port}" for port in free_ports(2 + len(devices)))
        self.typed = {
            "controller": ["--listen", controller, "--peer", channel],
            "channel": ["--listen", channel, "--peer", ",".join([controller, *of_devices])],
        }
        for device, own in zip(devices, of_devices):
            self.typed[device] = ["--listen", own, "--peer", channel]
        self.running = {}
        for part in order or self.typed:
            self.start(part)

    def start(self, part):
        self.running[part] = subprocess.Popen(
            [PROGRAM, "run", self.scenario, "--json", "--live", "--as", part, *self.typed[part], "--out", self.out,
             *self.extra],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def kill(self, part):
        process = self.running.pop(part)
        process.kill()
        process.communicate(timeout=30)

    def ended(self, timeout):
        """By part: status, document and what it said."""
        found = {}
        for part, process in self.running.items():
            text, err = process.communicate(timeout=timeout)
            assert process.returncode in (0, 1, 3), (part, process.returncode, err)
            found[part] = process.returncode, json.loads(text), err
        return found
