"""A whole cell live over UDP has the verdict of the virtual run, in one process and in five.

Three links at one controller: two demands that cross two links, one that comes back to its own station, and the loss of a
link. A part that is killed leaves the run without a verdict: none as long as it is away, and not judged if it came
back. A computer that was late is asked again, slower; late to the end, it makes the test a skipped one."""
import glob
import json
import os
import subprocess
import sys
import tempfile
import time

from support.cell_parts import CellParts
from support.punctual import latest_ms, on_time, skip, slower

PROGRAM = os.environ["LINKDRILL"]
SOURCE = os.environ["SOURCE"]
STATIONS = ["infeed I/O", "bridge drive", "table drive"]
CYCLE_MS = 15.0
TIMES_SLOWER = (1, 4)


def short_cell(folder):
    """The shipped cell with less of everything: 11 s, two demands, one fault."""
    with open(os.path.join(SOURCE, "scenarios", "glass_line", "cell.toml"), encoding="utf-8") as file:
        text = file.read()
    text = text.replace('duration = "40 s"', 'duration = "11 s"')
    links = text[: text.index("[[demand]]")]
    path = os.path.join(folder, "short_cell.toml")
    with open(path, "w", encoding="utf-8") as file:
        file.write(links + """
[[demand]]
safeguard = "rope"
at = "2 s"
lasting = "0.5 s"
[[operator]]
at = "3.2 s"
safeguard = "rope"
does = "reset"
[[operator]]
at = "3.8 s"
machine = "bridge"
does = "start-machine"
[[operator]]
at = "3.8 s"
machine = "table"
does = "start-machine"
[[demand]]
safeguard = "infeed_curtain"
at = "5 s"
lasting = "0.5 s"
[[demand]]
safeguard = "table_flap"
at = "6 s"
lasting = "0.5 s"
[[operator]]
at = "7 s"
machine = "bridge"
does = "start-machine"
[[operator]]
at = "7 s"
machine = "table"
does = "start-machine"
[[fault]]
link = "infeed"
error = "loss"
way = "drop"
at = "8.5 s"
lasting = "0.3 s"
direction = "both"
expect = { outcome = "safe-state", detected_by = "time-expectation" }
""")
    return path


def run(scenario, *arguments):
    done = subprocess.run([PROGRAM, "run", scenario, "--json", *arguments], capture_output=True, text=True, timeout=120)
    assert done.returncode in (0, 1, 3), done.stderr
    return json.loads(done.stdout)


def one_process(scenario, folder, times):
    return run(scenario, "--live", *slower(times), "--out", os.path.join(folder, "one"))


def five_processes(scenario, folder, times):
    order = ["device:table drive", "channel", "device:infeed I/O", "controller", "device:bridge drive"]
    parts = CellParts(scenario, STATIONS, os.path.join(folder, "five"), order, slower(times))
    joined = [document for _, document, _ in parts.ended(120).values() if document.get("verdict")]
    assert joined, "no part joined the records"
    assert all(one["digest"] == joined[0]["digest"] for one in joined), "two parts joined to different results"
    return joined[0]


def compare(virtual, live, times):
    late = latest_ms(live, times)
    assert live["mode"] == "live" and virtual["mode"] == "virtual"
    assert live["verdict"] == virtual["verdict"], (live["verdict"], virtual["verdict"], live["remarks"])
    assert live["as_expected"], (live["injections"], live["remarks"])
    assert len(live["injections"]) == len(virtual["injections"]) > 0
    for a, b in zip(virtual["injections"], live["injections"]):
        for key in ("id", "link", "error", "outcome", "detected_by"):
            assert a[key] == b[key], (key, a, b)
        assert [(m["machine"], m["moved"], m["within_limit"]) for m in a["machines"]] == \
               [(m["machine"], m["moved"], m["within_limit"]) for m in b["machines"]], (a, b)
    assert len(live["demands"]) == len(virtual["demands"]) == 4
    for a, b in zip(virtual["demands"], live["demands"]):
        for key in ("safeguard", "machine"):
            assert a[key] == b[key], (key, a, b)
        # over two links two scans of each, and the guard's own
        assert abs(a["standstill_ms"] - b["standstill_ms"] / times) <= 4 * CYCLE_MS + late + 1.0, (a, b)
    assert len(live["functions"]) == len(virtual["functions"]) == 3
    for a, b in zip(virtual["functions"], live["functions"]):
        assert a["met"] == b["met"], (a, b)
    assert [link["stops"] for link in live["links"]] == [link["stops"] for link in virtual["links"]]


def check(what, attempt, scenario, virtual):
    figures = []
    for times in TIMES_SLOWER:
        with tempfile.TemporaryDirectory() as folder:
            live = attempt(scenario, folder, times)
            figures.append(f"{latest_ms(live, times):.2f} ms late at times-slower {times}")
            try:
                if live["verdict"] != "not-judged":
                    compare(virtual, live, times)
                    print(f"{what}: {live['verdict']}, {figures[-1]}", flush=True)
                    return
                assert not on_time(live, times), live["remarks"]
                print(f"{what}: not judged, {figures[-1]}", flush=True)
            except AssertionError as difference:
                if on_time(live, times):
                    raise
                print(f"{what}: differs, but {figures[-1]}: {difference}", flush=True)
    skip(f"{what}: {', '.join(figures)}")


def killed(scenario, folder):
    """Whatever the computer does, no verdict comes of it."""
    parts = CellParts(scenario, STATIONS, os.path.join(folder, "gone"))
    time.sleep(3)
    parts.kill("device:bridge drive")
    for part, (status, document, _) in parts.ended(60).items():
        assert status == 0 and document["verdict"] is None, (part, status, document)
    assert not glob.glob(os.path.join(folder, "gone", "result.json"))
    print("a device killed: no verdict", flush=True)

    for part in ("device:bridge drive", "controller", "channel"):
        out = os.path.join(folder, "back " + part.split(":")[0])
        parts = CellParts(scenario, STATIONS, out)
        time.sleep(3)
        parts.kill(part)
        parts.start(part)
        ended = parts.ended(60)
        status, document, said = ended[part]
        assert "will have no verdict" in said, said
        assert status == 3 and document["verdict"] == "not-judged", (part, status, document)
        assert any("was started anew, or late" in remark for remark in document["remarks"]), document["remarks"]
        print(f"{part} killed and started anew: not judged", flush=True)


with tempfile.TemporaryDirectory() as cell_folder:
    CELL = short_cell(cell_folder)
    with tempfile.TemporaryDirectory() as virtual_folder:
        VIRTUAL = run(CELL, "--out", os.path.join(virtual_folder, "virtual"))
    assert VIRTUAL["verdict"] == "pass", VIRTUAL["remarks"]
    killed(CELL, cell_folder)
    check("one process", one_process, CELL, VIRTUAL)
    check("five processes, a device first", five_processes, CELL, VIRTUAL)
sys.exit(0)
