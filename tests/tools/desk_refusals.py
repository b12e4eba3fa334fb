"""Every kind of refusal of the desk's table, provoked, and its button pressed: desk_refusals.py LINKDRILL SOURCE

What the table promises of a kind holds: a press mends it, there is nothing to mend, or the words say who can. A kind that
nobody provokes here is a failure, so one that is added needs its provocation.
"""
import json
import os
import pathlib
import re
import shutil
import signal
import sys
import time
import traceback

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from desk_refused import bench, check, fresh, linkdrill, mended, press, problems, provoked  # noqa: E402
from desk_refused import refused, table, templates  # noqa: E402
from desk_refusals_bench import at_the_bench, other_plants  # noqa: E402
from desk_visitor import Desk  # noqa: E402

signal.signal(signal.SIGINT, signal.default_int_handler)


def example():
    desk = Desk(linkdrill)
    try:
        desk.listen()
        mends = refused("example-without-name", desk.post("save"))
        desk.post("set", path="link.watchdog", value="60 ms")
        pathlib.Path("other.toml").write_text((templates / "rope_pull.toml").read_text())
        refused("lists-unsaved", desk.post("drop", **{"as": "lists"}))
        leave = refused("example-typed", desk.post("begin", file="other.toml"))
        mended(desk, mends, "Save it as plant.toml")
        check(pathlib.Path("plant.toml").exists(), "it is saved under that name")
        mended(desk, leave, "Leave it")
        desk.wait(lambda told: told["file"]["name"] == "other.toml", "the other file")
    finally:
        desk.kill()
    # a program without what ships with it
    os.makedirs("alone")
    shutil.copy(linkdrill, "alone/linkdrill")
    desk = Desk(os.path.abspath("alone/linkdrill"))
    try:
        refused("nothing-open", desk.post("save"))
        refused("no-template", desk.post("begin", template="guards_in_one_bit"), "whoever installed it")
    finally:
        desk.kill()


def typing():
    desk = fresh("typing.toml", "guards_in_one_bit.toml")
    try:
        refused("foreign-page", json.loads(desk.ask("POST", "/api/begin", {"file": "typing.toml"})[1]) and
                desk.post("replay", injection="x"))
        mends = refused("not-opened", desk.post("begin", file="none.toml"), "no such file")
        mended(desk, mends, "Look at the folder again")
        refused("nothing-to-take-back", desk.post("undo"), "nothing to undo")
        # out of range, misspelt, without a unit, by another base, with a comma
        before = desk.text()
        for path, value, words, instead in (
                ("link.watchdog", "5 ms", "Put back 45 ms", "20 ms"), ("link.watchdog", "80", "Put back 45 ms", "80 ms"),
                ("link.watchdog", "0,08 s", "Put back 45 ms", "0.08 s"), ("link.watchdog", "9 h", "Put back 45 ms", "1 h"),
                ("link.payload", "400", "Put back 4", "250"), ("link.exchange", "streming", "Put back polled", "streaming"),
                ("device.address", "1A2B", "Put back nothing, as meant", "0x1A2B"), ("link.cycle", "-3 ms", "Put back 10 ms", "3 ms")):
            mends = refused("value-refused", desk.post("set", path=path, value=value), path.rsplit(".", 1)[-1])
            check(words in mends, f"{path} {value}: {list(mends)}")
            check(mends.get(words, {}).get("value") == path, f"it puts back what is at its place: {mends}")
            check(desk.text() == before, f"{path} {value} changes nothing")
            if path != "link.exchange":
                mended(desk, mends, f"Type {instead} instead")
                check(instead in desk.text(), f"{instead} is typed")
                desk.post("undo")
        mends = refused("value-refused", desk.post("set", path="bits.may_run", value="9.9"))
        check(list(mends) == ["Put back 0.0"], f"what nobody can have meant is not offered: {mends}")
        # two windows in one field
        check("ok" in desk.post("set", path="link.watchdog", value="60 ms", base="45 ms"), "typed over what stood there")
        mends = refused("value-stale", desk.post("set", path="link.watchdog", value="50 ms", base="45 ms"),
                        "60 ms was typed there meanwhile")
        check("Keep 60 ms" in mends and 'watchdog = "60 ms"' in desk.text(), f"both values are named: {list(mends)}")
        check("ok" in desk.post("set", path="link.watchdog", value="60 ms", base="45 ms"), "the same is no question")
        mended(desk, mends, "Type 50 ms all the same")
        check('watchdog = "50 ms"' in desk.text(), "the later one, once it was chosen")
        refused("block-needed", desk.post("block", do="remove", path="signal"), "goes first")
        # a text
        refused("text-refused", desk.post("text", text="# " + "x" * 1_100_000))
        broken = desk.text().replace("[link]", "[link")
        answer = desk.post("text", text=broken)
        line = broken.splitlines().index("[link") + 1
        check(f"line {line}" in answer.get("note", "") and answer["mends"][0]["act"] == "to-line", f"taken, but: {answer}")
        answer = desk.post("save")
        check("ok" in answer and "Saved" in answer["note"] and f"line {line}" in answer["note"], f"saved, but: {answer}")
        check(pathlib.Path("typing.toml").read_text() == broken, "saved as it stands")
        mends = refused("file-not-read", desk.post("set", path="link.watchdog", value="80 ms"))
        check(f"Go to line {line}" in mends, f"where: {list(mends)}")
        mended(desk, mends, "Undo")
        desk.post("save")
        # names
        mends = refused("name-unfit", desk.post("save", name="a/b"))
        mended(desk, mends, "Call it a_b.toml")
        pathlib.Path("taken.toml").write_text("# mine")
        mends = refused("name-taken", desk.post("save", name="taken"))
        mended(desk, mends, "Call it taken_2.toml")
        check(pathlib.Path("taken.toml").read_text() == "# mine", "nothing is overwritten")
    finally:
        desk.kill()


def others():
    """Somebody else at the file or its folder."""
    os.makedirs("shared/state", exist_ok=True)
    pathlib.Path("shared/theirs.toml").write_text((templates / "rope_pull.toml").read_text())
    state = {**os.environ, "XDG_STATE_HOME": os.path.abspath("state")}
    desk = Desk(linkdrill, "shared/theirs.toml", "--folder", "shared", environment=state)
    try:
        desk.listen()
        desk.post("set", path="link.watchdog", value="70 ms")
        text = desk.text()
        refused("no-question", desk.post("foreign", take="mine"))
        there = pathlib.Path("shared/theirs.toml")
        there.write_text(there.read_text() + "# theirs\n")
        mends = refused("changed-by-others", desk.post("save"), "nothing was saved")
        check("See both texts" in mends, f"both: {list(mends)}")
        mended(desk, mends, "Take what is on the disk")
        check(desk.text() == there.read_text(), "theirs is taken")
        desk.post("undo")
        there.rename("aside.toml")
        there.mkdir()
        mends = refused("not-saved", desk.post("save"))
        there.rmdir()
        shutil.copy("aside.toml", there)
        mended(desk, mends, "Try again")
        check(there.read_text() == text, "saved")
        # the folder goes, with all that lay beside
        desk.post("set", path="link.watchdog", value="75 ms")
        typed = desk.text()
        time.sleep(0.5)
        shutil.rmtree("shared")
        told = desk.wait(lambda told: told["file"]["gone"], "the folder to be missed")
        check(told["file"]["foreign"] is None, "that is no change of somebody's")
        draft = told["file"]["gone"]["draft"]
        check(draft and typed in pathlib.Path(draft).read_text(), f"what is typed lies in {draft}")
        mends = refused("folder-gone", desk.post("save"), draft)
        refused("work-not-begun", desk.post("job", do="start", what="residual"))
        check(desk.text() == typed, "nothing typed is lost")
        mended(desk, mends, "Make the folder again and save")
        check(there.read_text() == typed, "saved in a folder made again")
        desk.wait(lambda told: not told["file"]["gone"] and not told["file"]["changed"], "it to be as saved")
        check(not os.path.exists(draft), "no draft is left")
        # put back by somebody else
        shutil.copytree("shared", "kept")
        shutil.rmtree("shared")
        desk.wait(lambda told: told["file"]["gone"], "the folder to be missed again")
        shutil.copytree("kept", "shared")
        desk.wait(lambda told: not told["file"]["gone"], "the folder to be there again")
        check("ok" in desk.post("save") and there.read_text() == typed, "it is the same file again")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()
    # nowhere to keep a draft
    os.makedirs("gone", exist_ok=True)
    shutil.copy("kept/theirs.toml", "gone/a.toml")
    desk = Desk(linkdrill, "a.toml", "--folder", "gone", environment={**os.environ, "XDG_STATE_HOME": "/dev/null/none"})
    try:
        desk.listen()
        desk.post("set", path="link.watchdog", value="71 ms")
        time.sleep(0.5)
        shutil.rmtree("gone")
        told = desk.wait(lambda told: told["file"]["gone"] and told["file"]["draft_trouble"], "a draft that cannot be kept")
        check(told["file"]["gone"]["draft"] is None, "it is said that it lies in no file")
        mends = refused("draft-not-kept", desk.post("draft", take="keep"))
        os.makedirs("gone")
        desk.wait(lambda told: not told["file"]["gone"], "the folder again")
        mended(desk, mends, "Try again")
    finally:
        desk.kill()


def dropped():
    pathlib.Path("measured.toml").write_text((templates / "guards_in_one_bit.toml").read_text())
    times = "round_trip_ms\n" + "5\n6\n" * 300
    desk = Desk(linkdrill, "measured.toml")
    try:
        desk.listen()
        pathlib.Path("radio.csv").write_text("round_trip_ms\n7\n")
        mends = refused("other-times-there", desk.post("drop", **{"as": "measured", "name": "radio.csv", "text": times, "link": ""}))
        mended(desk, mends, "Call it radio_2.csv")
        check(pathlib.Path("radio_2.csv").read_text() == times, "under that name")
        os.mkdir("folder.csv")
        mends = refused("times-not-written", desk.post("drop", **{"as": "measured", "name": "folder.csv", "text": times, "link": ""}))
        os.rmdir("folder.csv")
        mended(desk, mends, "Try again")
        refused("times-refused", desk.post("drop", **{"as": "measured", "name": "bad.csv", "text": "what?\n", "link": ""}),
                "where it was measured")
        check(not os.path.exists("bad.csv"), "nothing of it stays")
        for one in ("controller-list", "device-list"):
            reply = desk.post("drop", **{"as": one, "name": one + ".csv", "text": "setting,value\n"})
        mended(desk, refused("lists-unsaved", reply), "Save and compare")
        desk.wait(lambda told: told["lists"] and told["lists"]["sentence"] not in ("", "Being compared."), "the lists")
    finally:
        desk.kill()
    desk = Desk(linkdrill, "measured.toml", environment={**os.environ, "TMPDIR": os.path.abspath("tmp")})
    try:
        for one in ("controller-list", "device-list"):
            reply = desk.post("drop", **{"as": one, "name": one + ".csv", "text": "setting,value\n"})
        mends = refused("lists-not-placed", reply)
        os.mkdir("tmp")
        mended(desk, mends, "Try again")
    finally:
        desk.kill()


def work():
    desk = fresh("work.toml", "guards_in_one_bit.toml", lambda text: re.sub(r'(?m)^duration = .*', 'duration = "24 h"', text))
    try:
        refused("count-unfit", desk.post("job", do="start", what="campaign", trials="many"), "not \"many\"")
        mends = refused("count-unfit", desk.post("job", do="start", what="endurance", years="-1"))
        refused("not-under-way", desk.post("job", do="stop", what="campaign", id="77"))
        mended(desk, mends, "Start with 100 years")
        desk.post("rehearse")
        mended(desk, refused("rehearsal-runs", desk.post("rehearse")), "Stop it")
        reply = {}
        for _ in range(6):
            reply = desk.post("job", do="start", what="campaign", trials="100000000")
            if "error" in reply:
                break
        mends = refused("too-much-work", reply, "four pieces")
        check(len(mends) == 4, f"each can be stopped: {list(mends)}")
        mended(desk, mends, next(words for words in mends if "Campaign" in words))
        told = desk.wait(lambda told: any(job["state"] == "stopped" for job in told["jobs"]), "work that was stopped")
        again = next(job for job in told["jobs"] if job["state"] == "stopped")["again"]
        check(again and again[0]["words"] == "Start it again" and again[0]["path"] == "/api/job", f"again: {again}")
    finally:
        desk.kill()


for part in (example, typing, others, dropped, work, at_the_bench, other_plants):
    try:
        part()
    except Exception as trouble:  # pylint: disable=broad-except
        line = next((frame.lineno for frame in reversed(traceback.extract_tb(trouble.__traceback__))
                     if frame.name == part.__name__), 0)
        check(False, f"{part.__name__}, line {line}: {trouble}")
check(len(table) > 40, f"the table was not found: {table}")
for kind in sorted(set(table) - set(provoked)):
    check(False, f"nobody provokes {kind}")
for kind in sorted(set(provoked) - set(table) - {None}):
    check(False, f"{kind} is not in the table")
print(f"{len(provoked)} kinds of refusal, {len(problems)} problems")
sys.exit(1 if problems else 0)
