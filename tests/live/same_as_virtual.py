"""A live run over UDP gives the verdicts of the virtual run, in one process and in three.

A computer that was too late gives no verdict; three tries, and thrice not judged is a failure. Times must agree within
the cycle plus the measured lateness (and a millisecond for the network in between). The capture holds the true sockets
and the time of day, with right checksums (tshark), and what the ends concluded."""
import json
import os
import socket
import subprocess
import sys
import tempfile
import time

PROGRAM = os.environ["LINKDRILL"]
SCENARIO = os.path.join(os.environ["SOURCE"], "tests", "live", "short_press.toml")
CYCLE_MS = 10.0
TRIES = 3


def run(*arguments):
    done = subprocess.run([PROGRAM, "run", SCENARIO, "--json", *arguments], capture_output=True, text=True, timeout=60)
    return done.returncode, done.stdout, done.stderr


def document(status, out, err):
    assert status in (0, 1, 3), f"status {status}: {err}"
    return json.loads(out)


def free_ports(count):
    sockets = [socket.socket(socket.AF_INET, socket.SOCK_DGRAM) for _ in range(count)]
    for each in sockets:
        each.bind(("127.0.0.1", 0))
    ports = [each.getsockname()[1] for each in sockets]
    for each in sockets:
        each.close()
    return ports


def one_process(folder):
    return document(*run("--live", "--out", os.path.join(folder, "one")))


def three_processes(folder, order):
    controller, channel, device = (f"127.0.0.1:{port}" for port in free_ports(3))
    typed = {
        "controller": ["--listen", controller, "--peer", channel],
        "device": ["--listen", device, "--peer", channel],
        "channel": ["--listen", channel, "--peer", f"{controller},{device}"],
    }
    out = os.path.join(folder, "three")
    running = {
        part: subprocess.Popen([PROGRAM, "run", SCENARIO, "--json", "--live", "--as", part, *typed[part], "--out", out],
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for part in order
    }
    found = None
    for part, process in running.items():
        text, err = process.communicate(timeout=60)
        result = document(process.returncode, text, err)
        if result.get("verdict"):
            found = result
    assert found, "no part joined the records"
    return found


def compare(virtual, live):
    late = live["lateness_ms"]["max"]
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
            assert abs(a[key] - b[key]) <= CYCLE_MS + late + 1.0, (key, a[key], b[key], late)


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


def judged(what, attempt):
    for _ in range(TRIES):
        with tempfile.TemporaryDirectory() as folder:
            begun = time.time()
            result = attempt(folder)
            name, = os.listdir(folder)
            check_capture(os.path.join(folder, name, "capture.pcapng"), result, begun, time.time())
        if result["verdict"] != "not-judged":
            return result
        print(f"{what}: not judged, lateness {result['lateness_ms']}")
    sys.exit(f"{what}: {TRIES} times too late to judge")


with tempfile.TemporaryDirectory() as folder:
    virtual = document(*run("--out", os.path.join(folder, "virtual")))
for what, attempt in (
    ("one process", one_process),
    ("three processes, the device first", lambda f: three_processes(f, ["device", "controller", "channel"])),
):
    live = judged(what, attempt)
    compare(virtual, live)
    print(f"{what}: {live['verdict']}, lateness {live['lateness_ms']}")
