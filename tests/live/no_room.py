"""A part of a live run whose disk is full ends at once and says so; the others say whose record is missing."""
import os
import resource
import subprocess
import sys
import tempfile

from support.parts import PROGRAM, Parts
from support.quiet_press import quiet_press


class Short(Parts):
    """The device may write files of so many bytes: a full disk, as far as a program sees."""

    def start(self, part, *typed):
        def limit():
            if part == "device":
                resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

        self.running[part] = subprocess.Popen(
            [PROGRAM, "run", self.scenario, "--live", "--as", part, *self.typed[part], "--out",
             os.path.join(self.out, part), *typed], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=limit)


with tempfile.TemporaryDirectory() as folder:
    os.mkdir(os.path.join(folder, "out"))
    parts = Short(quiet_press(folder), os.path.join(folder, "out"))
    text, err = parts.running["device"].communicate(timeout=30)
    print(err.strip())
    last = err.strip().splitlines()[-1]
    assert parts.running["device"].returncode == 3, (parts.running["device"].returncode, text, err)
    assert last.endswith("part-device.txt: File too large"), last
    for part in ("channel", "controller"):
        text, err = parts.running[part].communicate(timeout=60)
        assert parts.running[part].returncode == 0, (part, parts.running[part].returncode, err)
        assert "Still to come" in text and "device" in text, text
sys.exit(0)
