"""A live run over three computers and a switch, with a network that loses, alters, holds up and doubles what it carries,
and a cable that is pulled: what the document says of the network is what was done to the wire, telegram by telegram.

The computers are network namespaces, and what is done to the wire is done by the kernel's filter and queues, or by a
relay in between. Where namespaces are not permitted, or the filter's program is missing, the test is skipped and says
so."""
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time

from support.hosts import HOSTS, PORT, Hosts, NotPermitted
from support.parts import PROGRAM
from support.punctual import SKIPPED, skip
from support.quiet_press import quiet_press

ALLOWED_MS = 12.0  # a fifth of the watchdog
RELAY = os.path.join(os.path.dirname(os.path.abspath(__file__)), "support", "relay.py")
BEGIN_S, LAST_S = 1.2, 1.6  # of what is done to the wire, after the start; the run takes 4 s


def run(hosts, folder, disturb, relay=None):
    """The document of a run while `disturb` is at work, and what that returned."""
    out = os.path.join(folder, "out")
    shutil.rmtree(out, ignore_errors=True)
    at = {host: f"{address}:{PORT}" for host, address in HOSTS.items()}
    via = {**at, "device": f"{HOSTS['device']}:{PORT + 1}"} if relay else at
    typed = {"controller": ["--listen", at["controller"], "--peer", at["channel"]],
             "channel": ["--listen", at["channel"], "--peer", f"{at['controller']},{via['device']}"],
             "device": ["--listen", at["device"], "--peer", via["device"] if relay else at["channel"]]}
    helpers = []
    if relay:
        helpers.append(subprocess.Popen([*hosts.command("device"), sys.executable, "-B", RELAY, via["device"], at["device"],
                                         at["channel"], relay], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True))
    parts = {part: subprocess.Popen([*hosts.command(part), PROGRAM, "run", os.path.join(folder, "quiet.toml"), "--json",
                                     "--live", "--beyond-this-computer", "--as", part, *typed[part], "--out", out],
                                    stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
             for part in ("channel", "device", "controller")}
    time.sleep(BEGIN_S)
    done = disturb(hosts, helpers[0] if relay else None)
    found = None
    for part, process in parts.items():
        text, err = process.communicate(timeout=60)
        assert process.returncode in (0, 1, 3), (part, process.returncode, err)
        result = json.loads(text)
        if result.get("lateness_ms"):
            found = result
    for helper in helpers:
        helper.terminate()
        helper.communicate(timeout=10)
    assert found, "no part joined the records"
    return found, done


def leg(result, start, end):
    return next(one for one in result["network"] if one["from"] == start and one["to"] == end)


def untouched(result, *but):
    """No leg had any trouble but those."""
    for one in result["network"]:
        if (one["from"], one["to"]) not in but:
            assert one["lost"] + one["doubled"] + one["out_of_order"] + one["altered"] == 0, one
            assert one["sent"] > 300, one


def nothing(_hosts, _relay):
    return None


def losing(rule, host="device"):
    def disturb(hosts, _relay):
        hosts.rule(host, "on_the_way", rule)
        time.sleep(LAST_S)
        return hosts.no_rules(host, "on_the_way")
    return disturb


def pulling(seconds):
    def disturb(hosts, _relay):
        hosts.plug("device", "down")
        time.sleep(seconds)
        hosts.plug("device", "up")
    return disturb


def bottleneck(hosts, _relay):
    """Less than comes, for a while; what waits in the queue is carried on before it is taken away."""
    hosts.inside("switch", "tc", "qdisc", "replace", "dev", "device", "root", "tbf", "rate", "30kbit", "burst", "200",
                 "limit", "400")
    time.sleep(0.4)
    hosts.inside("switch", "tc", "qdisc", "change", "dev", "device", "root", "tbf", "rate", "8mbit", "burst", "20000",
                 "limit", "40000")
    time.sleep(0.6)
    shown = json.loads(hosts.inside("switch", "tc", "-s", "-j", "qdisc", "show", "dev", "device"))
    hosts.inside("switch", "tc", "qdisc", "del", "dev", "device", "root")
    return shown[0]["drops"]


def relaying(_hosts, relay):
    """The relay begins, and says how often it did it once it is told to end."""
    relay.stdin.write("begin\n")
    relay.stdin.flush()
    time.sleep(LAST_S)
    relay.stdin.write("end\n")
    relay.stdin.flush()
    return int(relay.stdout.readline())


def judged(what, result):
    late = result["lateness_ms"]["max"]
    if late > ALLOWED_MS:
        skip(f"with {what} a timer was {late} ms late")
    return result


UDP = f"udp dport {PORT}"
CASES = {
    "nothing": (nothing, None),
    "one in 20 lost": (losing(f"{UDP} numgen inc mod 20 == 0 counter name done drop"), None),
    "one in 20 lost on the way back": (losing(f"{UDP} ip saddr {HOSTS['device']} numgen inc mod 20 == 0 counter name done drop",
                                              "channel"), None),
    "one in 25 altered": (losing(f"{UDP} numgen inc mod 25 == 0 @th,96,8 set 0x5a counter name done"), None),
    "cable out for 0.5 s": (pulling(0.5), None),
    "a bottleneck": (bottleneck, None),
    "one in 10 doubled": (relaying, "double"),
    "one in 30 behind a later one": (relaying, "swap"),
}


def check(name, result, done, on_wire):
    out = leg(result, "channel", "device")
    back = leg(result, "device", "channel")
    print(f"{name}: done to the wire {done}, lost there {on_wire}; {result['verdict']}, {result['stops']} stops; "
          f"{[list(one.values())[3:] for one in result['network']]}")
    if name == "nothing":
        untouched(result)
        assert result["verdict"] == "pass", result["verdict"]
    elif name.endswith("lost"):
        untouched(result, ("channel", "device"))
        assert out["lost"] == done > 3 and out["doubled"] + out["out_of_order"] + out["altered"] == 0, (out, done)
    elif name.endswith("back"):
        untouched(result, ("device", "channel"))
        assert back["lost"] == done > 3, (back, done)
    elif name.endswith("altered"):
        untouched(result, ("channel", "device"))
        assert out["altered"] == done > 3 and out["lost"] == done, (out, done)
        rejected = sum(result["ends"]["device"]["rejected"].values())
        assert rejected >= done - 3, (rejected, done)  # a few before the link had started again
        assert result["verdict"] == "fail", result["verdict"]
    elif name.startswith("cable"):
        untouched(result, ("channel", "device"), ("device", "channel"))
        assert out["lost"] == on_wire > 20 and out["doubled"] + out["out_of_order"] + out["altered"] == 0, (out, on_wire)
        assert result["stops"] >= 1 and result["dangerous"] == [], result["dangerous"]
        assert result["ends"]["device"]["state"] == "running", result["ends"]["device"]
    elif name == "a bottleneck":
        # what still waited as the queue was taken away is lost as well, and no drop of it
        assert out["lost"] == on_wire >= done > 3, (out, on_wire, done)
    elif name.endswith("doubled"):
        assert out["doubled"] == done > 3 and out["lost"] == out["altered"] == 0, (out, done)
    else:
        # the wire carried as many as were sent, and each that was held back came after one that was sent later
        assert out["out_of_order"] == done > 3 and out["lost"] + out["doubled"] + out["altered"] == 0, (out, done)
        assert result["verdict"] == "fail", result["verdict"]


if not (shutil.which("ip") and shutil.which("nft") and shutil.which("tc")):
    print("skipped: ip, nft or tc is missing (tools/setup tests installs them)")
    sys.exit(SKIPPED)
try:
    with Hosts() as made, tempfile.TemporaryDirectory() as place:
        quiet_press(place)
        for case, (how, with_relay) in CASES.items():
            if len(sys.argv) > 1 and sys.argv[1] not in case:
                continue
            before = made.counted("channel", "sent") - made.counted("device", "heard")
            found, told = run(made, place, how, with_relay)
            lost_on_wire = made.counted("channel", "sent") - made.counted("device", "heard") - before
            check(case, judged(case, found), told, lost_on_wire)
except NotPermitted as error:
    print(f"skipped: network namespaces are not permitted here: {error}")
    sys.exit(SKIPPED)
sys.exit(0)
