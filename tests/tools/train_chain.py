"""The chain of a training's records, from outside: train_chain.py LINKDRILL. The same hashes from this description of
them, by Python's own SHA-256; and what linkdrill train --verify says of files that were changed."""
import hashlib
import os
import shutil
import signal
import sqlite3
import subprocess
import sys

import training_room
from training_room import Training

linkdrill, = sys.argv[1:]
problems = []


def check(holds, words):
    if not holds:
        problems.append(words)
        print("FAILED:", words)


def verify(file, *more):
    done = subprocess.run([linkdrill, "train", "--verify", file, *more], capture_output=True, text=True, timeout=20)
    return done.returncode, done.stdout + done.stderr


def digest(*fields):
    netstrings = b"".join(b"%d:%s," % (len(field), field) for field in (str(one).encode() for one in fields))
    return hashlib.sha256(netstrings).hexdigest()


RESULT = ("id drill points seconds hints person exam done_at session name title mode result at_place what actions "
          "dangerous record trainer version actions_said dangerous_said withdrawn deleted").replace(" ", ", ")
EXAM = ("training_exam.id, person, drills, done, judged, state, training_exam.session, called, begun, ended, why, "
        "verdict, trainer")


def same_hashes(file):
    """Reckoned anew: every entry, and what stands in the file by the latest of each record."""
    store = sqlite3.connect(file)
    before, latest = "0" * 64, {}
    for number, kind, about, content, said, entry in store.execute("SELECT * FROM training_chain ORDER BY number"):
        check(said == before, f"entry {number}: the hash before it")
        check(entry == digest("linkdrill chain 1", number, kind, about, content, before), f"entry {number}: its hash")
        before = entry
        latest["exam" in kind, about] = content
    for row in store.execute(f"SELECT {RESULT} FROM training_result"):
        check(latest.pop((False, str(row[0]))) == digest("linkdrill result 1", *row), f"result {row[0]}")
    for row in store.execute(f"SELECT {EXAM} FROM training_exam JOIN training_person ON training_person.id = person"):
        check(latest.pop((True, str(row[0]))) == digest("linkdrill exam 1", *row), f"exam {row[0]}")
    check(not any(latest.values()), f"not in the file: {latest}")
    store.close()
    return before


def changed(name, sql):
    shutil.copy("chain.sqlite", name)
    store = sqlite3.connect(name)
    store.executescript(sql)
    store.commit()
    store.close()
    return name


def hand_in(training, own):
    status, told = training_room.hand_in(training, own, "lock-out", "call-engineer")
    check(status == 200, f"handing in: {told}")


training = Training(linkdrill, "chain.sqlite")
anna, ben = training.join("Anna"), training.join("Ben")
for own, drill in ((anna, 2), (ben, 3), (anna, 5)):
    training.post("/api/start", {"drill": drill}, own)
    if drill == 5:
        training.instruct("pace", {"who": "P1", "pace": "quarter"})
    hand_in(training, own)
training.post("/api/exam", {}, ben)
training.instruct("put-in", {"who": "P2", "way": "drop", "where": "both-ways", "confirm": "P2"})
hand_in(training, ben)
training.post("/api/withdraw", {"id": 1}, anna)
kept = training.instructor("results.json")
check([one["trainer"][8:27] for one in kept["results"]][2] == " clock at a quarter", f"the pace: {kept['results'][2]}")
check("put a fault in" in kept["exams"][0]["trainer"], f"the hand in an exam: {kept['exams'][0]}")
status, words = verify("chain.sqlite")
check(status == 3 and "another program has it open" in words, f"while it is served: {status} {words}")

# killed: what is kept stands in the log beside it, which stays as it is
training.end(signal.SIGKILL)
size = os.path.getsize("chain.sqlite-wal")
status, words = verify("chain.sqlite")
check(status == 0 and "HOLDS" in words and "4 results and 1 exam" in words, f"after a kill: {status} {words}")
check(os.path.getsize("chain.sqlite-wal") == size, "looking changed the log")
training = Training(linkdrill, "chain.sqlite")
training.instruct("delete", {"id": 2, "confirm": 2})
training.instruct("delete-person", {"who": "P1", "confirm": "P1"})
kept = training.instructor("results.json")
check(kept["wrong"] == [] and kept["chain"]["holds"] and kept["chain"]["kept"], f"the chain as it is told: {kept['chain']} {kept['wrong']}")
record = training.instructor("record?id=4")
check(record["result"]["hash"] == kept["results"][-1]["hash"], "a record's hash is not the list's")
training.end(signal.SIGINT)

last = same_hashes("chain.sqlite")
check(kept["chain"]["last"] == last, "the last hash as it is told")
with open("chain.sqlite", "rb") as file:
    whole = file.read()
check(b"Anna" not in whole, "something of a deleted person is left")
status, words = verify("chain.sqlite")
check(status == 0 and "2 results and 1 exam" in words, f"all holds: {status} {words}")
groups = " ".join(last[i:i + 4] for i in range(0, 16, 4))
check(groups in words, f"the last hash is not told: {words}")
check(verify("chain.sqlite", "--printed", groups)[0] == 0, "a printed hash is not found")
check(verify("chain.sqlite", "--printed", "0000 1111 2222 3333")[0] == 1, "a hash that nobody printed is found")
with open("chain.sqlite", "rb") as file:
    check(file.read() == whole, "looking changed the file")
check(not os.path.exists("chain.sqlite-wal") and not os.path.exists("chain.sqlite-shm"), "looking left files")

for name, sql, named in (
        ("points.sqlite", "UPDATE training_result SET points = points + 1 WHERE id = 4", "result 4 (Ben"),
        ("record.sqlite", "UPDATE training_result SET record = replace(record, 'begins', 'begun') WHERE id = 4",
         "result 4 (Ben"),
        ("verdict.sqlite", "UPDATE training_exam SET verdict = 'passed'", "exam 1 (Ben"),
        ("hand.sqlite", "UPDATE training_exam SET trainer = ''", "exam 1 (Ben"),
        ("name.sqlite", "UPDATE training_person SET called = 'Bea'", "exam 1 (Bea"),
        ("gone.sqlite", "DELETE FROM training_result WHERE id = 4", "result 4 (entry"),
        ("back.sqlite", "INSERT INTO training_result SELECT 1, " + RESULT[4:] + " FROM training_result WHERE id = 4",
         "result 1 (Ben"),
        ("cut.sqlite", "DELETE FROM training_chain WHERE number = (SELECT max(number) FROM training_chain)", "the end"),
        ("entry.sqlite", "UPDATE training_chain SET about = '9' WHERE number = 3", "entry 3")):
    if name == "back.sqlite":
        sql = sql.replace(" SELECT 1, ", " (id, " + RESULT[4:] + ") SELECT 1, ")
    status, words = verify(changed(name, sql))
    check(status == 1 and "CHANGED" in words and named in words, f"{name}: {status} {words}")
# whoever serves such a file reads of it too
training = Training(linkdrill, "points.sqlite")
kept = training.instructor("results.json")
check(not kept["chain"]["holds"] and "result 4 (Ben" in kept["wrong"][0], f"served though changed: {kept['wrong']}")
training.end(signal.SIGINT)

for file, words in (("none.sqlite", "is not there"), ("text.sqlite", "cannot be read"),
                    ("foreign.sqlite", "no store of a training"), ("older.sqlite", "has no hashes yet")):
    if file == "text.sqlite":
        with open(file, "w", encoding="utf-8") as text:
            text.write("no database " * 100)
    elif file == "foreign.sqlite":
        changed(file, "PRAGMA application_id=1279542081")
    elif file == "older.sqlite":
        changed(file, "PRAGMA user_version=3")
    status, told = verify(file)
    check(status == 2 and words in told and told.count("\n") == 1, f"{file}: {status} {told}")
check(verify("chain.sqlite", "--port", "0")[0] == 2, "--port beside --verify")
check(subprocess.run([linkdrill, "train", "--printed", groups], capture_output=True).returncode == 2,
      "--printed without --verify")
print(len(problems), "problems")
sys.exit(bool(problems))
