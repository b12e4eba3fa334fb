"""A training that ends in the middle goes on where it was: train_again.py LINKDRILL. Killed without warning, two at once
on one file, files of an older and of a newer layout."""
import http.client
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import urllib.parse

import training_room

linkdrill, = sys.argv[1:]
problems = []


def check(holds, words):
    if not holds:
        problems.append(words)
        print("FAILED:", words)


class Training:
    def __init__(self, file, port=0):
        self.process = subprocess.Popen([linkdrill, "train", "--port", str(port), "--store", file], text=True,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        lines = [self.process.stdout.readline() for _ in range(2)]
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", lines[0]).group(1))
        self.secret = re.search(r"#([0-9a-f]{32})", lines[1]).group(1)

    def ask(self, method, path, fields=None, headers=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        head = {"Content-Type": "application/x-www-form-urlencoded"} if fields is not None else {}
        connection.request(method, path, urllib.parse.urlencode(fields) if fields is not None else None,
                           head | (headers or {}))
        reply = connection.getresponse()
        body = reply.read()
        connection.close()
        return reply, json.loads(body)

    def end(self, how):
        self.process.send_signal(how)
        return self.process.wait(timeout=20)


training = Training("again.sqlite")
reply, told = training.ask("POST", "/api/join", {"name": "A. B."})
own = {"Cookie": reply.getheader("Set-Cookie").split(";")[0], "X-Token": told["token"]}
training.ask("POST", "/api/start", {"drill": 5}, own)
for act in ({"act": "conduct", "value": "keep-out"}, {"act": "step", "value": "2"},
            {"act": "instrument", "value": "io-panel"}, {"act": "keep", "value": "on-since"}):
    reply, before = training.ask("POST", "/api/act", act, own)
    check(reply.status == 200, f"{act}: {before}")

second = subprocess.run([linkdrill, "train", "--port", "0", "--store", "again.sqlite"], capture_output=True, text=True,
                        timeout=20)
check(second.returncode == 3 and second.stderr.count("\n") == 1 and "another program has it open" in second.stderr,
      f"a second copy on one file: status {second.returncode}, {second.stderr}")

training.end(signal.SIGKILL)
training = Training("again.sqlite", training.port)
reply, after = training.ask("GET", "/api/state", headers=own)
check(reply.status == 200, f"after a kill: status {reply.status}")
for key in ("step", "kept", "conduct", "used", "log"):
    check(after["state"][key] == before["state"][key], f"{key}: {before['state'][key]} became {after['state'][key]}")
check(after["state"]["plant_time"] >= before["state"]["plant_time"], "plant time went back")
check(after["run"] != before["run"], "the page cannot know of the restart")

# killed in the middle of an act: it is done to its end, once, and what was named still stands
training_room.begin_work(training, own, "lock-out")
training_room.until_done(training, own)
begun = training_room.begin_work(training, own, "call-engineer")["state"]
training.end(signal.SIGKILL)
training = Training("again.sqlite", training.port)
done = training_room.until_done(training, own)["state"]
check([one["card"] for one in done["done"]] == ["lock-out", "call-engineer"], f"what was done is lost: {done['done']}")
check(done["done"][0] == begun["done"][0] and done["zone"]["locked"], f"what a lock did is lost: {done['done']}")
check(done["done"][1]["until"] == begun["work"]["until"] <= done["plant_time"],
      f"an act ended at another hour: {begun['work']} became {done['done'][1]}")
check(training.ask("POST", "/api/act", {"act": "cannot-tell"}, own)[0].status == 409, "what was named is named anew")
check(training_room.hand_in(training, own)[0] == 200, "the drill does not go on")
check(training.end(signal.SIGINT) == 130, "status after Ctrl-C")
training = Training("again.sqlite")
results = training.ask("GET", "/api/instructor/results.json", headers={"X-Token": training.secret})[1]["results"]
check([one["drill"] for one in results] == [5], f"the result is not kept once: {results}")
training.end(signal.SIGINT)

# of the first layout: no session, no record
old = sqlite3.connect("old.sqlite")
old.execute("CREATE TABLE training_result (id INTEGER PRIMARY KEY, done_at TEXT NOT NULL, name TEXT NOT NULL, "
            "drill INTEGER NOT NULL, title TEXT NOT NULL, mode TEXT NOT NULL, result TEXT NOT NULL, "
            "points INTEGER NOT NULL, seconds INTEGER NOT NULL, hints INTEGER NOT NULL, at_place TEXT NOT NULL, "
            "what TEXT NOT NULL, actions TEXT NOT NULL, dangerous TEXT NOT NULL) STRICT")
old.execute("INSERT INTO training_result VALUES (7, '2026-01-02 03:04', 'C. D.', 3, 'The parrot', 'practice', "
            "'safe-and-found', 94, 400, 1, 'way-out', 'repetition', 'lock-out', '')")
old.commit()
old.close()
training = Training("old.sqlite")
results = training.ask("GET", "/api/instructor/results.json", headers={"X-Token": training.secret})[1]["results"]
check([(one["id"], one["name"], one["points"]) for one in results] == [(7, "C. D.", 94)], f"an older file: {results}")
reply, record = training.ask("GET", "/api/instructor/record?id=7", headers={"X-Token": training.secret})
check(reply.status == 200 and record["record"] is None, f"the record of an older result: {record}")
training.end(signal.SIGINT)

newer = sqlite3.connect("old.sqlite")
newer.execute("PRAGMA user_version=99")
newer.commit()
newer.close()
refused = subprocess.run([linkdrill, "train", "--port", "0", "--store", "old.sqlite"], capture_output=True, text=True,
                         timeout=20)
check(refused.returncode == 2 and "newer linkdrill" in refused.stderr, f"a newer file: {refused.stderr}")
with open("no_store.sqlite", "w", encoding="utf-8") as text:
    text.write("no database " * 100)
refused = subprocess.run([linkdrill, "train", "--port", "0", "--store", "no_store.sqlite"], capture_output=True,
                         text=True, timeout=20)
check(refused.returncode == 2 and refused.stderr.count("\n") == 1, f"no database: {refused.returncode} {refused.stderr}")
# somebody else's database is left as it is, whatever it is
foreign = sqlite3.connect("foreign.sqlite")
foreign.execute("CREATE TABLE trial (id INTEGER PRIMARY KEY, outcome INTEGER)")
foreign.execute("PRAGMA application_id=1279542081")
foreign.commit()
foreign.close()
unmarked = sqlite3.connect("unmarked.sqlite")
unmarked.execute("CREATE TABLE notes (text TEXT)")
unmarked.commit()
unmarked.close()
for name in ("foreign.sqlite", "unmarked.sqlite"):
    with open(name, "rb") as file:
        whole = file.read()
    refused = subprocess.run([linkdrill, "train", "--port", "0", "--store", name], capture_output=True, text=True,
                             timeout=20)
    check(refused.returncode == 2 and "no store of a training" in refused.stderr, f"{name}: {refused.stderr}")
    with open(name, "rb") as file:
        check(file.read() == whole, f"{name} was written to")
    check(not os.path.exists(name + "-wal"), f"{name} got files beside it")

# a name is a file's name, and a store is for its owner only
training = Training(":memory:")
check(os.path.exists(":memory:"), "a store named like none is kept nowhere")
for name in (":memory:", ":memory:-wal"):
    if os.path.exists(name):
        check(os.stat(name).st_mode & 0o077 == 0, f"{name} may be read by others")
training.end(signal.SIGINT)
check(not os.path.exists(":memory:-wal"), "the store is not one file at its end")
print(len(problems), "problems")
sys.exit(bool(problems))
