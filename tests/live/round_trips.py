"""Round trips measured over real sockets: what a relay in between does to the datagrams is what is counted, and what
this computer is late by is in none of the times.

The relay knows what it did to each number, so its counts and those of the program must be equal on any computer. Times
are compared with bounds that only a computer far too busy exceeds; that one is skipped with its figure."""
import csv
import json
import os
import re
import select
import signal
import socket
import struct
import subprocess
import tempfile
import threading
import time

from support.punctual import skip

PROGRAM = os.environ["LINKDRILL"]
SOURCE = os.environ["SOURCE"]
ASK, ANSWER, BUSY, FAREWELL = 0x11, 0x12, 0x13, 0x14
FILLING = 0xA5


def datagram(kind, run, number, size=19):
    return struct.pack(">2sBII5x", b"LD", kind, run, number) + bytes([FILLING]) * (size - 16)


def start(*arguments, **how):
    return subprocess.Popen([PROGRAM, "roundtrips", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True, **how)


def ended(process, *statuses):
    out, err = process.communicate(timeout=60)
    assert process.returncode in statuses, (process.returncode, out, err)
    return json.loads(out) if out.startswith("{") else out, err


class Answerer:
    """linkdrill roundtrips --answer on a free port of this computer."""

    def __enter__(self):
        self.process = start("--answer", ":0", "--json")
        line = self.process.stderr.readline()
        self.port = int(re.fullmatch(r"roundtrips: answers at 127\.0\.0\.1:(\d+)\n", line)[1])
        self.document = None
        return self

    def is_asked_for(self, seconds):
        """So long after somebody began to ask."""
        assert self.process.stderr.readline().startswith("roundtrips: is asked by ")
        time.sleep(seconds)

    def end(self):
        self.process.send_signal(signal.SIGINT)
        self.document, _ = ended(self.process, 130)
        return self.document

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.process.kill()
            self.process.communicate()


class Relay(threading.Thread):
    """Between the two: for each answer on its way back `treat(number)` says what happens to it: a list of delays in
    seconds, one for each copy; an empty one loses it."""

    def __init__(self, port, treat):
        super().__init__(daemon=True)
        self.treat, self.back, self.asker, self.done = treat, ("127.0.0.1", port), None, False
        self.near, self.far = (socket.socket(socket.AF_INET, socket.SOCK_DGRAM) for _ in range(2))
        self.near.bind(("127.0.0.1", 0))
        self.port = self.near.getsockname()[1]
        self.order, self.waiting = [], []  # numbers as they went back; (when, number, bytes)

    def run(self):
        while not self.done:
            wait = max(0.0, min([w[0] for w in self.waiting], default=time.monotonic() + 0.05) - time.monotonic())
            for one in select.select([self.near, self.far], [], [], min(wait, 0.05))[0]:
                data, sender = one.recvfrom(2048)
                if one is self.near:
                    self.asker = sender
                    self.far.sendto(data, self.back)
                    continue
                number, = struct.unpack(">I", data[7:11])
                for delay in self.treat(number):
                    self.waiting.append((time.monotonic() + delay, number, data))
            now = time.monotonic()
            for each in sorted(w for w in self.waiting if w[0] <= now):
                self.waiting.remove(each)
                self.order.append(each[1])
                self.near.sendto(each[2], self.asker)

    def counts(self, sent):
        seen, newest, repeated, reordered = set(), -1, 0, 0
        for number in self.order:
            if number in seen:
                repeated += 1
                continue
            seen.add(number)
            reordered += number < newest
            newest = max(newest, number)
        return {"lost": sent - len(seen), "duplicated": repeated, "reordered": reordered}


def rows_of(document):
    with open(document["file"], newline="", encoding="ascii") as file:
        return list(csv.DictReader(file))


def believed(document, what):
    """Skips where the computer was too late; where it says that it measured, it did."""
    late = document["own_lateness_ms"]
    if document["verdict"] == "not-believed":
        skip(f"{what}: half within {late['median']:.2f} ms, 99 of 100 within {late['p99']:.2f} ms, "
             f"{document['not_sent']} not sent")
    assert document["verdict"] == "measured", document


def figures_are_of_the_file(document):
    rows = rows_of(document)
    times = sorted(float(row["round_trip_ms"]) for row in rows if row["round_trip_ms"])
    assert len(rows) == document["sent"] and len(rows) - len(times) == document["lost"], document
    assert times[-1] == document["max_ms"] and times[len(times) // 2] == document["median_ms"], document
    assert list(rows[0]) == ["at_ms", "round_trip_ms", "answered_after_ms", "own_lateness_ms"]
    at = [float(row["at_ms"]) for row in rows]
    assert at == sorted(at)
    return rows


def plain_run(folder):
    with Answerer() as answerer:
        asked, _ = ended(start("--ask", f"127.0.0.1:{answerer.port}", "--cycle", "5 ms", "--for", "2 s", "--json",
                               "--bytes", "64", "--out", f"{folder}/plain"), 0, 1)
        answered = answerer.end()
    assert asked["sent"] + asked["not_sent"] == asked["planned"] == 400 and asked["bytes"] == 64
    assert answered["answered"] == asked["sent"] and answered["strangers"] == answered["refused"] == 0
    assert (asked["lost"], asked["duplicated"], asked["reordered"], asked["strangers"]) == (0, 0, 0, 0), asked
    assert answered["longest_ms"] == asked["answered_after_ms"]["max"]
    assert asked["stamped"] and answered["stamped"]
    figures_are_of_the_file(asked)
    believed(asked, "plain")
    scenario = os.path.join(folder, "scenario.toml")
    with open(f"{SOURCE}/tests/live/short_press.toml", encoding="utf-8") as file:
        text = file.read().replace('"../../scenarios', f'"{SOURCE}/scenarios')
    with open(scenario, "w", encoding="utf-8") as file:
        file.write(text.replace('delay = { from = "0.2 ms", to = "0.35 ms" }',
                                'delay = { file = "plain/round_trips.csv", no_answer = "losses" }'))
    ran = subprocess.run([PROGRAM, "check", scenario], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    print(f"plain: {asked['median_ms']:.3f} ms, {asked['max_ms']:.3f} ms at most; own lateness "
          f"{asked['own_lateness_ms']['max']:.2f} ms at most")


def relayed(folder):
    """Lost, repeated, overtaken and very late ones, and strangers from two places."""

    def treat(number):
        if number % 20 == 7 or 100 <= number < 105:
            return []
        if number == 3:
            return [2.3]  # beyond the wait, and before the end of run and wait
        if number % 30 == 11:
            return [0.0, 0.004]
        return [0.012] if number % 25 == 5 else [0.0]

    with Answerer() as answerer:
        relay = Relay(answerer.port, treat)
        relay.start()
        asking = start("--ask", f"127.0.0.1:{relay.port}", "--cycle", "5 ms", "--for", "2 s", "--json", "--out",
                       f"{folder}/relayed")
        while relay.asker is None:
            time.sleep(0.01)
        elsewhere = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        for _ in range(5):
            elsewhere.sendto(b"not ours", relay.asker)
            relay.near.sendto(datagram(ANSWER, 1, 0), relay.asker)  # of another run
            relay.near.sendto(b"", relay.asker)
        asked, _ = ended(asking, 0, 1)
        relay.done = True
        relay.join()
        answerer.end()
    expected = relay.counts(asked["sent"])
    assert expected["lost"] > 10 and expected["duplicated"] > 5 and expected["reordered"] > 5, expected
    if asked["dropped_here"]:
        skip(f"relayed: {asked['dropped_here']} datagrams found no room")
    assert {key: asked[key] for key in expected} == expected, (asked, expected)
    assert asked["strangers"] == 15 and asked["answered_after_wait"] == 1, asked
    rows = figures_are_of_the_file(asked)
    assert 2300 < float(rows[3]["round_trip_ms"]) < 2600 and rows[7]["round_trip_ms"] == "", rows[:8]
    gap, = (gap for gap in asked["first_gaps"] if gap["first"] == 100)
    assert gap["count"] == 5 and gap["from_ms"] == float(rows[100]["at_ms"]), asked["first_gaps"]
    print(f"relayed: {expected} of {asked['sent']}")


def stopped_process(folder, which):
    """One of the two stands still for 0.3 s: that is own lateness, or time at the other computer, and not on the line."""
    with Answerer() as answerer:
        asking = start("--ask", f"127.0.0.1:{answerer.port}", "--cycle", "5 ms", "--for", "2 s", "--json", "--out",
                       f"{folder}/{which}")
        answerer.is_asked_for(0.7)
        victim = asking if which == "asker" else answerer.process
        victim.send_signal(signal.SIGSTOP)
        time.sleep(0.3)
        victim.send_signal(signal.SIGCONT)
        asked, _ = ended(asking, 0, 1)
    assert asked["lost"] == 0, asked
    if which == "asker":
        assert asked["not_sent"] >= 40 and asked["own_lateness_ms"]["max"] > 250, asked
        assert asked["verdict"] == "not-believed", asked
    else:
        assert asked["answered_after_ms"]["max"] > 250, asked
    if asked["max_ms"] > 100:
        skip(f"{which} stopped: a round trip of {asked['max_ms']:.1f} ms on loopback")
    print(f"{which} stopped for 300 ms: {asked['max_ms']:.3f} ms on the line at most")


def killed_answerer(folder):
    """Its losses are one gap up to the end, unless another one takes its place: that one is asked on."""
    with Answerer() as answerer:
        asking = start("--ask", f"127.0.0.1:{answerer.port}", "--cycle", "5 ms", "--for", "2 s", "--json", "--out",
                       f"{folder}/killed")
        answerer.is_asked_for(0.6)
        answerer.process.kill()
        answerer.process.communicate()
        time.sleep(0.5)
        successor = start("--answer", f"{answerer.port}", "--json", "--for", "3 s")
        asked, _ = ended(asking, 0, 1)
        answered, _ = ended(successor, 0)
    assert 0 < asked["lost"] < asked["sent"] and asked["gaps"] == 1, asked
    gap, = asked["first_gaps"]
    assert gap["count"] == asked["lost"] > 20 and gap["first"] + gap["count"] < asked["sent"], asked
    assert answered["answered"] == asked["sent"] - gap["first"] - gap["count"], (asked, answered)
    print(f"killed: {asked['lost']} lost in a row, and answered again")


def nobody_there(folder):
    os.makedirs(f"{folder}/nobody")
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as silent:
        silent.bind(("127.0.0.1", 0))
        port = silent.getsockname()[1]
        asked, _ = ended(start("--ask", f"127.0.0.1:{port}", "--cycle", "50 ms", "--for", "1 s", "--json", "--out",
                               f"{folder}/nobody"), 1)
    assert asked["verdict"] == "not-measured" and asked["lost"] == asked["sent"] > 0 and asked["file"] is None, asked
    assert asked["median_ms"] is None and any("firewall" in each for each in asked["remarks"])
    assert sorted(os.listdir(f"{folder}/nobody")) == [".linkdrill", "roundtrips.json", "roundtrips.txt"]


def one_at_a_time(folder):
    with Answerer() as answerer:
        to = ("--ask", f"127.0.0.1:{answerer.port}", "--cycle", "5 ms", "--json")
        first = start(*to, "--for", "2 s", "--out", f"{folder}/first")
        answerer.is_asked_for(0.2)
        second, _ = ended(start(*to, "--for", "1 s", "--out", f"{folder}/second"), 1)
        assert second["verdict"] == "refused" and second["refused"] and second["file"] is None, second
        assert second["sent"] == second["lost"] == 0, second
        asked, _ = ended(first, 0, 1)
        assert asked["lost"] == 0 and not asked["refused"], asked
        # it said farewell: the next one is answered at once
        third, _ = ended(start(*to, "--for", "1 s", "--out", f"{folder}/third"), 0, 1)
        assert third["lost"] == 0, third
        answered = answerer.end()
    assert answered["askers"] == 2 and answered["refused"] >= 1, answered


def no_more_than_it_gets():
    """Whatever is sent to it: one datagram of the same size for each well-formed ask, and nothing else."""
    with Answerer() as answerer, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as me:
        me.settimeout(0.3)
        there = ("127.0.0.1", answerer.port)
        whole = datagram(ASK, 5, 0, 40)
        for size in (16, 19, 250):
            me.sendto(datagram(ASK, 5, size, size), there)
            reply = me.recv(2048)
            assert len(reply) == size and reply[:11] == datagram(ANSWER, 5, size)[:11], reply
        foreign = [b"", b"hello", whole[:15], whole + b"\0", datagram(ASK, 5, 0, 251), datagram(ANSWER, 5, 0),
                   datagram(BUSY, 5, 0), datagram(FAREWELL, 6, 0), os.urandom(64), bytes(1200)]
        foreign += [whole[:i] + bytes([whole[i] ^ 0xFF]) + whole[i + 1:] for i in (0, 1, 2, 11, 15, 16, 39)]
        for each in foreign:
            me.sendto(each, there)
        try:
            raise AssertionError(f"answered {me.recv(2048)!r}")
        except TimeoutError:
            pass
        answered = answerer.end()
        assert answered["answered"] == 3 and answered["strangers"] == len(foreign), answered


def interrupted(folder):
    with Answerer() as answerer:
        asking = start("--ask", f"127.0.0.1:{answerer.port}", "--cycle", "5 ms", "--for", "1 h", "--json", "--out",
                       f"{folder}/interrupted")
        answerer.is_asked_for(0.9)
        begun = time.monotonic()
        asking.send_signal(signal.SIGINT)
        asked, _ = ended(asking, 130)
        assert time.monotonic() - begun < 4
    assert asked["stopped"] and 50 < asked["sent"] < 1000 and asked["lost"] == 0 and asked["planned"] == 720_000, asked
    figures_are_of_the_file(asked)


with tempfile.TemporaryDirectory() as work:
    no_more_than_it_gets()
    nobody_there(work)
    relayed(work)
    killed_answerer(work)
    one_at_a_time(work)
    interrupted(work)
    stopped_process(work, "asker")
    stopped_process(work, "answerer")
    plain_run(work)
