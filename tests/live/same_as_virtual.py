"""A live run over UDP gives the verdicts of the virtual run, in one process and in three.

Times must agree within the cycle plus the measured lateness (and a millisecond for the network in between). The capture
holds the true sockets and the time of day, with right checksums (tshark), and what the ends concluded. A computer that
was late is asked again, slower; late to the end, it makes the test a skipped one. What differs on one that was on time
is a failure at once."""
import csv
import json
import os
import subprocess
import sys
import tempfile
import time

from support.ports import free_ports
from support.punctual import latest_ms, on_time, skip, slower

PROGRAM = os.environ["LINKDRILL"]
SCENARIO = os.path.join(os.environ["SOURCE"], "tests", "live", "short_press.toml")
CYCLE_MS = 10.0
TIMES_SLOWER = (1, 2, 5)


def run(*arguments):
    done = subprocess.run([PROGRAM, "run", SCENARIO, "--json", *arguments], capture_output=True, text=True, timeout=90)
    return done.returncode, done.stdout, done.stderr


def document(status, out, err):
    assert status in (0, 1, 3), f"status {status}: {err}"
    return json.loads(out)


def one_process(folder, times):
    return document(*run("--live", *slower(times), "--out", os.path.join(folder, "one")))


def three_processes(folder, times, order):
    controller, channel, device = (f"127.0.0.1:{port}" for port in free_ports(3))
    typed = {
        "controller": ["--listen", controller, "--peer", channel],
        "device": ["--listen", device, "--peer", channel],
        "channel": ["--listen", channel, "--peer", f"{controller},{device}"],
    }
    out = os.path.join(folder, "three")
    running = {
        part: subprocess.Popen([PROGRAM, "run", SCENARIO, "--json", "--live", *slower(times), "--as", part, *typed[part],
                                "--out", out],
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for part in order
    }
    found = None
    for part, process in running.items():
        text, err = process.communicate(timeout=90)
        result = document(process.returncode, text, err)
        if result.get("verdict"):
            found = result
    assert found, "no part joined the records"
    return found


def compare(virtual, live, times):
    late = latest_ms(live, times)
    assert live["mode"] == "live" and virtual["mode"] == "virtual"
    assert live["verdict"] == virtual["verdict"], (live["verdict"], virtual["verdict"], live["remarks"])
    assert live["as_expected"], live["injections"]
    assert len(live["injections"]) == len(virtual["injections"]) > 0
    for a, b in zip(virtual["injections"], live["injections"]):
        # both ends hear of an error on both ways, and which of them first depends on how their scans lie; live that is
        # nobody's choice
        end = () if a["direction"] == "both" else ("detected_end",)
        for key in ("id", "error", "outcome", "detected_by", *end):
            assert a[key] == b[key], (key, a[key], b[key], late)
        for key in ("detect_ms", "standstill_ms"):
            assert abs(a[key] - b[key] / times) <= CYCLE_MS + late + 1.0, (key, a[key], b[key], late)


def check_capture(file, result, begun, ended):
    fields = ["frame.time_epoch", "ip.checksum.status", "udp.checksum.status", "ip.src", "ip.dst", "udp.srcport",
              "udp.dstport", "frame.interface_id"]
    rows = subprocess.run(["tshark", "-n", "-r", file, "-o", "udp.check_checksum:TRUE", "-o", "ip.check_checksum:TRUE",
                           "-T", "fields"] + [word for field in fields for word in ("-e", field)],
                          capture_output=True, text=True, check=True).stdout.splitlines()
    rows = [row.split("\t") for row in rows]
    decoded = json.loads(subprocess.run([PROGRAM, "decode", file, "--json"], capture_output=True, check=True).stdout)
    telegrams = decoded["telegrams"]
    assert decoded["mode"] == "live" and decoded["digest"] == result["digest"]
    assert len(rows) == len(telegrams) == result["capture"]["telegrams"] > 500, (len(rows), len(telegrams))
    ways = {}
    for (at, ip, udp, source, destination, source_port, destination_port, hop), telegram in zip(rows, telegrams):
        assert ip == udp == "1" and source == destination == "127.0.0.1"
        assert begun <= float(at) <= ended, (begun, at, ended)
        ways.setdefault(hop, set()).add((source_port, destination_port))
        if telegram["verdict"] in ("rejected", "dropped", "ignored", "not-looked-at"):
            assert telegram["comment"], telegram
    (controller, channel), = ways["0"]
    (_, device), = ways["1"]
    assert ways == {"0": {(controller, channel)}, "1": {(channel, device)}, "2": {(device, channel)},
                    "3": {(channel, controller)}}, ways
    # the ends count on after the run, until their peers have seen its end
    for end in ("controller", "device"):
        accepted = sum(t["verdict"] == "accepted" for t in telegrams if t["hop"] == f"channel-to-{end}")
        counted = result["ends"][end]["accepted"]
        assert counted - 100 <= accepted <= counted, (end, accepted, counted)
    for one in result["injections"]:
        assert any((t["comment"] or "").startswith(f"Injection {one['id']} (") for t in telegrams), one


def check_round_trips(file, times, late):
    """On the line is what the channel took, and what the computer was late by; the rest are scans."""
    with open(file, newline="", encoding="ascii") as text:
        rows = [(float(row["round_trip_ms"]), float(row["scan_wait_ms"])) for row in csv.DictReader(text)]
    assert len(rows) > 200, len(rows)
    line = sorted(row[0] for row in rows)
    whole = sorted(row[0] + row[1] for row in rows)
    assert line[0] >= 2 * 0.2 * times and min(row[1] for row in rows) >= 0, line[0]
    middle = line[len(line) // 2]
    assert middle <= 2 * 0.35 * times + 2 * late * times + 1.0, (middle, late)
    # the controller looks for the answer in a scan only
    assert whole[len(whole) // 2] > CYCLE_MS * times * 0.9 > middle, (whole[len(whole) // 2], middle)
    return f"{middle:.2f} ms on the line, {whole[len(whole) // 2]:.2f} ms with its scans"


def check(what, attempt, virtual):
    """Compares one way of running live with the virtual run; skips the test if the computer never was on time for it."""
    figures = []
    for times in TIMES_SLOWER:
        with tempfile.TemporaryDirectory() as folder:
            begun = time.time()
            live = attempt(folder, times)
            ended = time.time()
            name, = os.listdir(folder)
            figures.append(f"{latest_ms(live, times):.2f} ms late at times-slower {times}")
            try:
                # the link of a computer that is far too late may hardly run, and its capture holds little
                if live["verdict"] != "not-judged":
                    check_capture(os.path.join(folder, name, "capture.pcapng"), live, begun, ended)
                    compare(virtual, live, times)
                    trips = check_round_trips(os.path.join(folder, name, "round_trips.csv"), times, latest_ms(live, times))
                    print(f"{what}: {live['verdict']}, {figures[-1]}; {trips}")
                    return
                assert not on_time(live, times), live["remarks"]
                print(f"{what}: not judged, {figures[-1]}", flush=True)
            except AssertionError as difference:
                if on_time(live, times):
                    raise
                print(f"{what}: differs, but {figures[-1]}: {difference}", flush=True)
    skip(f"{what}: {', '.join(figures)}")


with tempfile.TemporaryDirectory() as virtual_folder:
    virtual_run = document(*run("--out", os.path.join(virtual_folder, "virtual")))
for name_of_way, way in (
    ("one process", one_process),
    ("three processes, the device first", lambda f, t: three_processes(f, t, ["device", "controller", "channel"])),
):
    check(name_of_way, way, virtual_run)
