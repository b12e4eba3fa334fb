"""What the desk costs and how soon it answers, beside its limits:  desk.py LINKDRILL SOURCE NODE MODULES
On request, on a quiet computer: prints figures, and tests nothing. Eight links at 4 ms, one page open."""
import json
import os
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "tools"))
from desk_visitor import Desk  # noqa: E402

linkdrill, source, node, modules = [os.path.abspath(one) if os.path.exists(one) else one for one in sys.argv[1:]]


def eight_links():
    """A cell with eight links at 4 ms, each with a guard, a bit and a machine."""
    text = ['title = "Eight drying ovens"\nshows = "For measuring."\nplant = "veneer dryer"\nduration = "20 s"\n',
            '[controller]\nname = "dryer controller"\naddress = "0x0100"\nscan = "2 ms"\n']
    for i in range(1, 9):
        text.append(f'[[link]]\nname = "oven {i}"\nexchange = "polled"\nprofile = "crc32_carried"\ncycle = "4 ms"\n'
                    f'watchdog = "20 ms"\npayload = 8\nclaimed_sil = 2\nreaction = "trip"\n'
                    f'[link.device]\nname = "oven {i} drive"\naddress = "0x010{i}"\nscan = "2 ms"\nphase = "0.2 ms"\n'
                    f'[link.bits]\nmay_run_{i} = "0.0"\n[link.channel]\ndelay = {{ from = "0.2 ms", to = "0.5 ms" }}\n')
    for i in range(1, 9):
        text.append(f'[[safeguard]]\nname = "door_{i}"\nat = "dryer controller"\ndelay = "10 ms"\n'
                    f'[[signal]]\nname = "may_run_{i}"\nlink = "oven {i}"\ndirection = "to-device"\n'
                    f'all_of = ["door_{i}"]\n[[machine]]\nname = "fan {i}"\nat = "oven {i} drive"\n'
                    f'reaction_delay = "10 ms"\nspeed = "400 mm/s"\nbraking = "2000 mm/s2"\n'
                    f'reaction = [{{ signal = "may_run_{i}", stop = "category-0" }}]\n')
    return "".join(text)


def processor_s(pid):
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def memory_mb(pid):
    for line in pathlib.Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


with tempfile.TemporaryDirectory() as folder:
    pathlib.Path(folder, "ovens.toml").write_text(eight_links())
    desk = Desk(linkdrill, "ovens.toml", folder=folder)
    try:
        desk.listen()
        desk.wait(lambda told: told["bench"] and all(one["device"]["state"] == "running"
                                                     for one in told["bench"]["links"]), "eight links to run")
        desk.wait(lambda told: all(one["state"] != "reckoning" for one in told["watchdogs"]), "their watchdogs")
        begun, spent = time.monotonic(), processor_s(desk.server.pid)
        ages = []
        while time.monotonic() - begun < 20.0:
            time.sleep(random.uniform(0.01, 0.05))
            ages.append(time.monotonic() * 1000.0 - desk.told["now_ms"])
        passed = time.monotonic() - begun
        print(f"state, 8 links at 4 ms   age {statistics.median(ages):.0f} ms at the median, "
              f"{sorted(ages)[len(ages) * 99 // 100]:.0f} ms at 99 %   (asked: 100 ms at the median)")
        print(f"processor                {(processor_s(desk.server.pid) - spent) / passed * 100:.0f} % of one, "
              f"memory {memory_mb(desk.server.pid):.0f} MB at most")
        size = len(json.dumps(desk.told))
        print(f"whole state              {size / 1000:.0f} kB")
        script = pathlib.Path(__file__).with_name("desk.mjs")
        page = subprocess.run([node, str(script), modules, f"http://127.0.0.1:{desk.port}/#{desk.secret}"],
                              capture_output=True, text=True, timeout=200, check=False)
        print(page.stdout, end="")
        if page.returncode != 0:
            print(page.stderr)
    finally:
        desk.kill()
