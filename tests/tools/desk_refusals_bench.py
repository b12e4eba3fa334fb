"""Refusals at the bench of a desk; run by desk_refusals.py."""
import json
import pathlib
import re
import shutil

from desk_refused import bench, check, fresh, linkdrill, mended, press, refused, scenarios, templates
from desk_visitor import Desk


def at_the_bench():
    desk = fresh("bench.toml", "guards_in_one_bit.toml")
    try:
        bench(desk, do="rate", rate="1/200")
        refused("nothing-done", desk.post("keep"), "interrupt a guard")
        refused("so-already", bench(desk, do="cable", link="", on="1"), "already")
        mended(desk, refused("when-unfit", bench(desk, do="fault", link="", way="drop", direction="to-device", when="soon")),
               "Put it in now")
        mended(desk, {"x": {"path": "/api/bench", "fields": {"do": "take-out"}}}, "x")
        refused("foreign-page", bench(desk, do="guard", guard="none", on="1"))
        refused("foreign-page", bench(desk, do="dance"))
        # a telegram
        told = desk.wait(lambda told: any(fact[6] is None for fact in told["bench"]["facts"]), "a telegram on its way")
        under_way = next(fact for fact in reversed(told["bench"]["facts"]) if fact[6] is None)
        mended(desk, refused("telegram-on-its-way", json.loads(desk.ask("GET", f"/api/explain?link=&telegram={under_way[0]}")[1])),
               "Step to what comes next")
        mended(desk, refused("telegram-gone", json.loads(desk.ask("GET", "/api/explain?link=&telegram=99999999")[1])),
               "Run at 1/200")
        # guards
        bench(desk, do="guard", guard="side_door", on="1")
        bench(desk, do="guard", guard="side_door", on="0")
        mends = refused("least-hold", bench(desk, do="guard", guard="side_door", on="1"), "by its least hold")
        mended(desk, mends, next(iter(mends)))
        check("ok" in bench(desk, do="guard", guard="side_door", on="1"), "it can be interrupted then")
        bench(desk, do="guard", guard="emergency_stop", on="1")
        desk.wait(lambda told: not told["bench"]["guards"][2]["free"], "its contact")
        bench(desk, do="until")
        mends = refused("reset-too-early", bench(desk, do="reset", guard="emergency_stop"))
        mended(desk, mends, "Let emergency_stop go")
        run_on(desk, lambda told: told["bench"]["signals"][0]["used"] == 0)
        mends = refused("stop-asked-for", bench(desk, do="start", machine="press"), "a stop is asked for")
        check("Let side_door go" in mends and len(mends) >= 2, f"what is missing, guard by guard: {list(mends)}")
        for _ in range(16):
            if not mends:
                break
            press(desk, mends, next(iter(mends)))
            bench(desk, do="until")
            reply = bench(desk, do="start", machine="press")
            mends = {} if "ok" in reply or reply.get("kind") == "so-already" else refused("stop-asked-for", reply)
        check(not mends, f"its buttons lead to a start: {list(mends)}")
        # the emergency stop at the machine
        mended(desk, {"x": {"path": "/api/bench", "fields": {"do": "stop", "machine": "press", "on": "1"}}}, "x")
        told = desk.wait(lambda told: told["bench"]["machines"][0]["emergency_stop"], "it to be pressed")
        check(told["bench"]["machines"][0]["command"] == "power off (category 0)", str(told["bench"]["machines"][0]))
        check(told["bench"]["machines"][0]["stopped_by_hand"], "no doing of the link")
        check(signal_now(told) == "may run", f"the signal still lets it run: {signal_now(told)}")
        mends = refused("emergency-stop", bench(desk, do="start", machine="press"), "emergency stop is pressed")
        mended(desk, mends, "Release emergency stop of press")
        check("ok" in bench(desk, do="start", machine="press"), "a start after that")
        before = desk.text()
        bench(desk, do="cable", link="", on="0")
        mends = refused("stop-not-kept", desk.post("keep"), "wired to the machine")
        check(desk.text() == before, "nothing is kept unasked")
        keep = next(words for words in mends if words.startswith("Keep what I did up to"))
        again = refused("replaces-blocks", press(desk, mends, keep))
        mended(desk, again, "Replace them")
        check("[[demand]]" in desk.text() and 'safeguard = "side_door"' in desk.text(), "what was done before it is kept")
        check('direction = "both"' not in desk.text(), "and nothing after it, as the cable")
        desk.post("undo")
        # the link
        mends = refused("link-not-running", link_stops(desk))
        mended(desk, mends, "Put the cable in")
        for _ in range(16):
            reply = bench(desk, do="start", machine="press")
            if reply.get("kind") not in ("link-not-running", "stop-asked-for"):
                break
            mends = refused(reply["kind"], reply)
            press(desk, mends, next(iter(mends)))
            bench(desk, do="until")
        check("ok" in reply, f"its buttons lead to a start: {reply}")
        # ends
        mended(desk, {"x": {"path": "/api/bench", "fields": {"do": "fault", "link": "", "way": "restart", "direction": "device", "when": "now"}}}, "x")
        mends = refused("end-busy", bench(desk, do="power", link="", end="device", on="0"))
        mended(desk, mends, next(iter(mends)))
        for end in ("controller", "device"):
            bench(desk, do="power", link="", end=end, on="0")
        mends = refused("end-busy", bench(desk, do="fault", link="", way="restart", direction="device", when="now"))
        bench(desk, do="step")
        for _ in range(30):
            reply = bench(desk, do="step")
            if "error" in reply:
                break
        refused("nothing-came", reply)
        mended(desk, mends, "Switch on the power of press drive")
        refused("fault-nowhere", bench(desk, do="fault", link="", way="swap", direction="to-device", when="now"), "neighbour")
        # what is typed is other than what runs
        desk.post("set", path="link.watchdog", value="60 ms")
        mended(desk, refused("bench-old", desk.post("keep")), "Start anew")
        bench(desk, do="stop", machine="press", on="1")
        mended(desk, refused("nothing-before-stop", desk.post("keep")), "Start anew")
        mended(desk, refused("nothing-done", desk.post("keep")), "Interrupt front_curtain")
        # as the file has it
        desk.post("replay", injection="82000000")
        mended(desk, refused("bench-hurries", bench(desk, do="acknowledge")), "Start anew by hand instead")
        first = re.search(r'\[\[demand\]\][^[]*?at = "(\d+) s"', desk.text()).group(1)
        guard = re.search(r'\[\[demand\]\][^[]*?safeguard = "(\w+)"', desk.text()).group(1)
        desk.post("replay", injection=str(int(first) * 1000))
        desk.wait(lambda told: told["bench"]["as_written"] and not told["bench"]["hurries"], "the moment", 60)
        refused("plays-the-file", desk.post("keep"))
        refused("plays-the-file", bench(desk, do="take-out"), "faults of the file")
        bench(desk, do="rate", rate="1/1")
        desk.wait(lambda told: not next(one for one in told["bench"]["guards"] if one["name"] == guard)["free"], "the demand")
        mended(desk, refused("held-by-file", bench(desk, do="guard", guard=guard, on="1")), "Start anew by hand")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()


def run_on(desk, holds):
    """From change to change, until that holds."""
    for _ in range(40):
        if holds(json.loads(desk.ask("GET", "/api/state")[1])):
            return
        bench(desk, do="until")
    raise RuntimeError("it never came to that")


def signal_now(told):
    return next(one for one in told["bench"]["signals"] if one["name"] == "may_run")["command_now"]


def link_stops(desk):
    """A start once the cable that is out has stopped the link."""
    reply = {}
    for _ in range(20):
        bench(desk, do="until")
        reply = bench(desk, do="start", machine="press")
        if reply.get("kind") == "link-not-running":
            break
    return reply


def other_plants():
    shutil.copytree(scenarios / "profiles", "profiles", dirs_exist_ok=True)
    shutil.copy(scenarios / "glass_line/cell.toml", "line.toml")
    shutil.copy(scenarios / "glass_table/speed_as_value.toml", "speed.toml")
    text = (templates / "guards_in_one_bit.toml").read_text()
    desk = Desk(linkdrill, "line.toml")
    try:
        desk.listen()
        mends = refused("which-machine", bench(desk, do="start"))
        check(len(mends) >= 2, f"each of them: {list(mends)}")
        bench(desk, do="until")
        reply = press(desk, mends, "Start bridge")
        check("ok" in reply or reply["kind"] in ("link-not-running", "stop-asked-for"), f"it starts that one: {reply}")
        refused("fault-elsewhere", bench(desk, do="fault", link="bridge", way="clock-drift", direction="controller", when="now"))
        # as many acts as a file may have
        reply = {}
        for _ in range(4100):
            reply = bench(desk, do="acknowledge")
            if "error" in reply:
                break
        mended(desk, refused("too-many", reply), "Start anew")
        check("error" not in desk.post("begin", file="speed.toml"), "another file")
        mends = refused("fault-elsewhere", bench(desk, do="fault", link="", way="drive-does-not-slow", direction="controller", when="now"))
        mended(desk, mends, next(iter(mends)))
        # two guards that are reset together
        text = re.sub(r'(?s)\[\[function\]\].*?(?=\n\[\[function\]\]|\n\[\[operator|\n# |\n\[required)', "", text, count=1)
        pathlib.Path("resets.toml").write_text(together(text))
        check("error" not in desk.post("begin", file="resets.toml"), "another file")
        told = desk.wait(lambda told: told["file"]["name"] == "resets.toml", "it")
        check(told["file"]["broken"] is None, f"it is read: {told['file']['broken']}")
        bench(desk, do="guard", guard="front_curtain", on="1")
        bench(desk, do="guard", guard="side_door", on="1")
        desk.wait(lambda told: not any(one["free"] for one in told["bench"]["guards"][:2]), "their contacts")
        bench(desk, do="guard", guard="side_door", on="0")
        desk.wait(lambda told: told["bench"]["guards"][1]["free"], "its contact")
        mends = refused("reset-waits", bench(desk, do="reset", guard="side_door"))
        mended(desk, mends, "Let front_curtain go")
        # blocks that stand in a list, and no machine
        pathlib.Path("inline.toml").write_text(inline((templates / "guards_in_one_bit.toml").read_text()))
        check("error" not in desk.post("begin", file="inline.toml"), "another file")
        told = desk.wait(lambda told: told["file"]["name"] == "inline.toml", "it")
        check(told["file"]["broken"] is None, f"it is read: {told['file']['broken']}")
        bench(desk, do="guard", guard="side_door", on="1")
        reply = desk.post("keep")
        if reply.get("kind") == "replaces-blocks":
            reply = press(desk, refused("replaces-blocks", reply), "Replace them")
        refused("blocks-not-written", reply, "whoever wrote that line")
        pathlib.Path("no_machine.toml").write_text(no_machine())
        check("error" not in desk.post("begin", file="no_machine.toml"), "another file")
        told = desk.wait(lambda told: told["file"]["name"] == "no_machine.toml", "it")
        check(told["file"]["broken"] is None, f"it is read: {told['file']['broken']}")
        refused("no-machine", bench(desk, do="start"), "[machine]")
    finally:
        desk.kill()


def together(text):
    """One function of two guards, which come back by a reset of both."""
    return text.replace('safeguards = ["side_door"]', 'safeguards = ["front_curtain", "side_door"]\nreturns = "after-reset"')


def inline(text):
    """Its faults as a list on one line."""
    text = re.sub(r'(?s)\n(# [^\n]*\n)*\[\[fault\]\].*?(?=\n\n|\Z)', "", text)
    return re.sub(r'(?m)^duration = ', 'fault = [{ error = "loss", way = "drop", at = "3 s", lasting = "0.3 s", direction = "both" }]\nduration = ', text)


def no_machine():
    """A link alone, to whose device nothing is wired."""
    text = re.sub(r"(?s)\n\[machine\].*?(?=\n# How old a signal)", "\n", (templates / "rope_pull.toml").read_text())
    return re.sub(r'(?s)\[\[operator\]\]\n[^[]*?start-machine"\n', "", text)
