"""Three parts of a live run, each a process of its own."""
import json
import os
import subprocess

from support.ports import free_ports

PROGRAM = os.environ["LINKDRILL"]
PARTS = ("channel", "device", "controller")


class Parts:
    """Started when made; `out`: the folder that they share."""

    def __init__(self, scenario, out, order=PARTS, extra=()):
        self.extra = extra
        controller, channel, device = (f"127.0.0.1:{port}" for port in free_ports(3))
        self.out = out
        self.scenario = scenario
        self.typed = {
            "controller": ["--listen", controller, "--peer", channel],
            "device": ["--listen", device, "--peer", channel],
            "channel": ["--listen", channel, "--peer", f"{controller},{device}"],
        }
        self.running = {}
        for part in order:
            self.start(part)

    def start(self, part, *typed):
        self.running[part] = subprocess.Popen(
            [PROGRAM, "run", self.scenario, "--json", "--live", "--as", part, *self.typed[part],
             "--out", self.out, *self.extra, *typed],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def end(self, part, signal):
        """Ends one by a signal, or lets it end by itself; its status, and what it said."""
        process = self.running.pop(part)
        if signal is not None:
            process.send_signal(signal)
        text, err = process.communicate(timeout=30)
        return process.returncode, text, err

    def joined(self):
        """Status and document of the part that joined the records, once all have ended; what each said, by part."""
        said = {}
        found = None
        for part, process in self.running.items():
            text, err = process.communicate(timeout=None if self.extra else 90)
            said[part] = err
            assert process.returncode in (0, 1, 3), (part, process.returncode, err)
            result = json.loads(text) if text.strip() else {}
            if result.get("lateness_ms"):
                found = process.returncode, result
        assert found, f"no part joined the records: {said}"
        return *found, said
