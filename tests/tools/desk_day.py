"""The engineer's day at the desk, asked for as its page does: desk_day.py LINKDRILL SOURCE"""
import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time
import traceback

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from desk_visitor import Desk  # noqa: E402

linkdrill, source = sys.argv[1:]
signal.signal(signal.SIGINT, signal.default_int_handler)
problems = []


def check(holds, words):
    if not holds:
        problems.append(words)
        print("FAILED:", words)


def row_of(told, setting, link=0):
    for group in told["links"][link]["groups"]:
        for row in group["rows"]:
            if row["setting"] == setting:
                return row
    raise RuntimeError(f"no row {setting}")


def words_of(told):
    return " | ".join(f"{one['word']} {one['rest']}" for one in told["truth"])


def signal_of(told, name):
    return next(one for one in told["bench"]["signals"] if one["name"] == name)


def day():
    """From a template to a file that was rehearsed."""
    desk = Desk(linkdrill)
    try:
        desk.listen()
        told = desk.wait(lambda told: told["bench"] and told["bench"]["links"][0]["device"]["state"] == "running",
                         "the example to run")
        check(told["file"]["example"] and told["file"]["name"] is None, "an empty desk runs an example")
        check(len(told["beginnings"]["templates"]) == 5, "the templates are offered")
        check("error" not in desk.post("begin", template="guards_in_one_bit", name="stamp"), "a template is begun")
        told = desk.wait(lambda told: told["file"]["name"] == "stamp.toml", "the new file")
        check(not os.path.exists("stamp.toml"), "nothing is written before it is saved")
        before = desk.text()

        # two mistakes: one that the link refuses, one that no measure of it sees
        check("error" not in desk.post("set", path="device.address", value="32"), "an address by 10")
        told = desk.wait(lambda told: not row_of(told, "address of press drive")["same"], "the difference")
        row = row_of(told, "address of press drive")
        check("Start refused: address of press drive differs" in row["seen_at_device"], row["seen_at_device"])
        check("digits agree" in row["note"], f"the note on bases: {row['note']}")
        check(row["device"]["typed"] == "32" and row["device"]["other"] == "0x20", str(row["device"]))
        check("ENDS DISAGREE 1 setting" in words_of(told), words_of(told))
        check("usable once the ends agree" in words_of(desk.wait(
            lambda told: "usable" in words_of(told), "the watchdog of ends that agree")), words_of(desk.told))
        check("USABLE" not in words_of(desk.told), "no watchdog is usable while the ends differ")
        desk.post("bench", do="begin")
        told = desk.wait(lambda told: told["bench"]["links"][0]["device"]["refusal"], "the refusal at the bench")
        check(told["bench"]["links"][0]["device"]["state"] == "starting", "it stays STARTING")
        check("sent" in told["bench"]["links"][0]["device"]["refusal"], told["bench"]["links"][0]["device"]["refusal"])
        check(row["controller"]["typed"] == "0x0032", f"the other end keeps what it had: {row['controller']}")
        check("error" not in desk.post("set", path="device.address", value=""), "the address as meant")
        told = desk.wait(lambda told: "ENDS AGREE" in words_of(told), "ends that agree")
        check(desk.text() == before, "every byte is as it was")
        row = row_of(told, "address of press drive")
        check(row["meant"]["typed"] == "0x0032" and row["device"]["typed"] is None, f"as meant at both ends: {row}")
        check("error" not in desk.post("set", path=row["meant"]["path"], value="51"), "another address for both")
        check('address = "51"' in desk.text() or "address = 51" in desk.text(), "it is typed once")
        told = desk.wait(lambda told: row_of(told, "address of press drive")["meant"]["typed"] == "51", "what is meant")
        check("ENDS AGREE" in words_of(told), "both ends have it")
        for _ in range(3):
            check("error" not in desk.post("undo"), "undo")
        check(desk.text() == before, "undone")

        refused = desk.post("set", path="link.watchdog", value="5 ms")
        check("watchdog" in refused["error"], f"a watchdog under the cycle is refused: {refused}")
        check(desk.text() == before, "a refused value changes nothing")

        # the guards, one after the other
        desk.post("bench", do="begin")
        desk.wait(lambda told: told["bench"]["links"][0]["device"]["state"] == "running", "the link")
        check("error" not in desk.post("bench", do="start", machine="press"), "the press starts")
        for guard in ("front_curtain", "side_door", "emergency_stop"):
            desk.post("bench", do="guard", guard=guard, on="1")
            told = desk.wait(lambda told: signal_of(told, "may_run")["used"] == 0, f"1 to 0 for {guard}")
            may_run = signal_of(told, "may_run")
            check([may_run[key] for key in ("computed", "sent", "received", "used")] == [0, 0, 0, 0], str(may_run))
            desk.wait(lambda told: not told["bench"]["machines"][0]["moves"], f"the press to stand after {guard}")
            desk.post("bench", do="guard", guard=guard, on="0")
            if guard == "emergency_stop":
                desk.wait(lambda told: told["bench"]["guards"][2]["free"], "the button pulled again")
                refused = desk.post("bench", do="start", machine="press")
                check("error" in refused and refused["mends"][0]["words"] == "Reset emergency_stop", str(refused))
                # a reset counts only while the guard is free
                desk.post("bench", do="reset", guard="emergency_stop")
            desk.wait(lambda told: signal_of(told, "may_run")["used"] == 1, f"0 to 1 after {guard}")
            check("error" not in desk.post("bench", do="start", machine="press"), f"a start after {guard}")
        # the cable
        desk.post("bench", do="cable", link="", on="0")
        desk.wait(lambda told: told["bench"]["links"][0]["device"]["state"] == "stopped", "the stop by the cable")
        desk.post("bench", do="cable", link="", on="1")
        desk.wait(lambda told: told["bench"]["links"][0]["controller"]["asks"], "the request")
        desk.post("bench", do="acknowledge")
        told = desk.wait(lambda told: told["bench"]["links"][0]["device"]["state"] == "running", "it to run again")
        check(len(told["bench"]["acts"]) >= 12, f"acts are listed: {len(told['bench']['acts'])}")

        # the watchdog
        told = desk.wait(lambda told: told["watchdogs"] and told["watchdogs"][0]["state"] == "exact", "the window")
        curve = told["watchdogs"][0]
        check(len(curve["points"]) > 20 and curve["window"], "points for the handle")
        for point in curve["points"]:
            summed = sum(part["ms"] for part in point["parts"])
            check(abs(summed - point["overall_ms"]) < 1e-6, f"parts add up to {summed}, not {point['overall_ms']}")
        check("error" not in desk.post("set", path=curve["path"], value="30 ms"), "the chosen watchdog")
        check("the bench runs what was typed" in desk.post("keep")["error"], "acts of another text are not kept")
        check("error" not in desk.post("undo"), "back to what the bench runs")
        refused = desk.post("keep")
        check("acts" in refused["error"], f"what goes is said: {refused}")
        check("error" not in desk.post("keep", **refused["mends"][0]["fields"]), "what was done is kept")
        kept = desk.text()
        check("[[demand]]" in kept and "[[fault]]" in kept and "YOURS" in kept, "blocks are in the text")

        # rehearsed as typed, saved, and rehearsed by the command
        desk.post("rehearse")
        told = desk.wait(lambda told: told["rehearsal"]["state"] == "current" and told["rehearsal"]["verdict"],
                         "the rehearsal", 120)
        check(len(told["rehearsal"]["demands"]) >= 3, "demands are in the table")
        check("error" not in desk.post("save"), "saved")
        check(pathlib.Path("stamp.toml").read_text() == kept, "the file is what was typed")
        run = subprocess.run([linkdrill, "run", "stamp.toml", "--json", "--out", "by_command"], capture_output=True,
                             text=True, check=False)
        by_command = json.loads(run.stdout)
        check(by_command["digest"] == told["rehearsal"]["digest"], "the same fingerprint as by the command")
        check(by_command["verdict"].upper() in told["rehearsal"]["verdict"],
              f"{by_command['verdict']} / {told['rehearsal']['verdict']}")
        status, body, reply = desk.ask("GET", "/evidence/report.html")
        check(status == 200 and "sandbox" in reply.getheader("Content-Security-Policy"), "the report in a sandbox")
        check(desk.ask("GET", "/evidence/../stamp.toml")[0] == 404, "no other file")

        # a moment of it in slow motion
        rows = [row for row in told["rehearsal"]["rows"]]
        check(rows, "the cable is in the table")
        desk.post("replay", injection=str(rows[0]["injection"]))
        told = desk.wait(lambda told: told["bench"]["as_written"] and not told["bench"]["hurries"], "the moment", 60)
        check(told["bench"]["rate"] == "1/200" and abs(told["bench"]["at_ms"] - rows[0]["at_ms"]) < 20, "just before it")
        told = desk.wait(lambda told: any(fact[6] for fact in told["bench"]["facts"]), "telegrams and their fates")
        seen = next(fact for fact in told["bench"]["facts"] if fact[6] in ("accepted", "repeated", "rejected"))
        explained = json.loads(desk.ask("GET", f"/api/explain?link=&telegram={seen[0]}")[1])
        check(explained.get("fields"), f"byte by byte: {explained}")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()


def a_cell():
    """Several links, and two lists."""
    desk = Desk(linkdrill, "--folder", ".")
    try:
        desk.listen()
        desk.post("begin", template="over_two_links", name="cell")
        told = desk.wait(lambda told: told["file"]["name"] == "cell.toml" and len(told["links"]) == 2, "two links")
        told = desk.wait(lambda told: all(one["device"]["state"] == "running" for one in told["bench"]["links"]), "both run")
        desk.post("bench", do="start", machine="carriage")
        desk.post("bench", do="guard", guard="infeed_curtain", on="1")
        told = desk.wait(lambda told: signal_of(told, "may_run")["used"] == 0 and
                         signal_of(told, "curtain_free")["used"] == 0, "the 0 over both links")
        check(row_of(told, "address of infeed I/O")["device"]["path"] == "link[1].device.address", "paths of a cell")
        check("error" not in desk.post("set", path="link[2].device.watchdog", value="60 ms"), "one end of one link")
        told = desk.wait(lambda told: told["plant"]["links"][1]["differs"] == 1, "it differs at the second link")
        check(told["plant"]["links"][0]["differs"] == 0, "and not at the first")
        row = row_of(told, "watchdog", 1)
        check(row["mend_fields"] and "error" not in desk.post("set", **{key: row["mend_fields"][key] for key in
                                                                     ("path", "value")}), f"the mend as a button: {row}")
        desk.wait(lambda told: told["plant"]["links"][1]["differs"] == 0, "mended")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()


def losing_nothing():
    """kill -9 in the middle, somebody else at the file, a broken file."""
    original = pathlib.Path(source, "scenarios/templates/rope_pull.toml").read_text()
    pathlib.Path("rope.toml").write_text(original)
    os.chmod("rope.toml", 0o640)
    desk = Desk(linkdrill, "rope.toml")
    desk.listen()
    desk.post("set", path="link.watchdog", value="70 ms")
    desk.wait(lambda told: told["file"]["changed"], "the change")
    typed = desk.text()
    time.sleep(0.6)  # a draft is kept within a fifth of a second
    desk.kill()
    check(pathlib.Path("rope.toml").read_text() == original, "the file is as it was")
    desk = Desk(linkdrill, "rope.toml")
    try:
        desk.listen()
        told = desk.wait(lambda told: told["file"]["draft"], "the draft that is offered")
        check("error" not in desk.post("draft", take="yes"), "the draft is taken")
        check(desk.text() == typed, "nothing was lost")
        pathlib.Path("rope.toml").write_text(original + "# somebody else\n")
        told = desk.wait(lambda told: told["file"]["foreign"], "somebody else's change is seen")
        check("somebody else" in desk.post("save")["error"], "nothing is overwritten without a question")
        check(pathlib.Path("rope.toml").read_text() == original + "# somebody else\n", "theirs is still there")
        check("error" not in desk.post("foreign", take="mine"), "mine after the question")
        check(pathlib.Path("rope.toml").read_text() == typed, "mine is there")
        check(os.stat("rope.toml").st_mode & 0o777 == 0o640, "the rights are kept")
        differing = [(a, b) for a, b in zip(original.splitlines(), typed.splitlines()) if a != b]
        check(len(differing) == 1 and "70 ms" in differing[0][1] and "YOURS" in differing[0][1], str(differing))
        # broken, and mended as text
        check("error" not in desk.post("text", text=typed.replace("[link]", "[link")), "a text may be broken")
        told = desk.wait(lambda told: told["file"]["broken"], "it is said")
        check(told["file"]["broken"]["line"] > 0 and "NOT READ" in words_of(told), str(told["file"]["broken"]))
        check("cannot be read" in desk.post("set", path="link.watchdog", value="80 ms")["error"], "nothing else is offered")
        check("error" not in desk.post("undo"), "undone")
        desk.wait(lambda told: not told["file"]["broken"], "it is read again")
        for name in ("../rope.toml", "/etc/passwd", "a/../../b.toml"):
            check("error" in desk.post("begin", file=name), f"no way out of the folder: {name}")
        os.symlink("/etc/hostname", "link.toml")
        check("error" in desk.post("begin", file="link.toml"), "no link is followed")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()


def by_command(*words):
    """The document of a command, whatever its status."""
    return json.loads(subprocess.run([linkdrill, *words, "--json"], capture_output=True, text=True, check=False).stdout)


def truths():
    """What was found before holds for what it was found of, and for nothing else."""
    scenarios = pathlib.Path(source, "scenarios")
    shutil.copytree(scenarios / "profiles", "profiles", dirs_exist_ok=True)
    shutil.copy(scenarios / "glass_line/cell.toml", "line.toml")
    os.makedirs("sub", exist_ok=True)
    shutil.copy(scenarios / "glass_table/over_radio_measured.toml", "sub/radio.toml")
    shutil.copy(scenarios / "glass_table/radio_round_trips.csv", "sub/radio_round_trips.csv")
    pathlib.Path("radio_round_trips.csv").write_text("round_trip_ms\n" + "5\n" * 300)
    two = pathlib.Path(source, "scenarios/templates/guards_in_one_bit.toml").read_text().replace(
        'watchdog = "45 ms"', 'controller_watchdog = "45 ms"\ndevice_watchdog = "70 ms"')
    pathlib.Path("two.toml").write_text(two)
    desk = Desk(linkdrill, "sub/radio.toml", "--folder", ".")
    try:
        desk.listen()
        told = desk.wait(lambda told: told["watchdogs"] and told["watchdogs"][0]["window"], "the measured window", 60)
        window = by_command("watchdog", "sub/radio.toml")["window"]
        check(told["watchdogs"][0]["window"] == window, f"{told['watchdogs'][0]['window']} here, {window} by the command")
        shutil.copy("radio_round_trips.csv", "sub/radio_round_trips.csv")
        desk.wait(lambda told: told["watchdogs"][0]["state"] == "reckoning" or told["watchdogs"][0]["window"] != window,
                  "another file of measured times to be seen")
        check(desk.told["bench"]["old"], "the bench runs the times of before, and says so")

        check("error" not in desk.post("begin", file="line.toml"), "a cell")
        desk.post("job", do="start", what="residual")
        told = desk.wait(lambda told: told["strength"] and told["strength"]["rows"], "the strength of a cell", 60)
        check(told["strength"]["sentence"].startswith("FAIL: 0 of 3") and not told["strength"]["old"],
              f"as linkdrill residual: {told['strength']['sentence']}")
        check("ONE AT A TIME" in words_of(desk.wait(lambda told: "USABLE" in words_of(told), "its windows", 60)), "of a cell")
        check("error" not in desk.post("begin", file="two.toml"), "another file")
        told = desk.wait(lambda told: told["file"]["name"] == "two.toml" and told["watchdogs"] and
                         told["watchdogs"][0]["state"] == "exact", "its window", 60)
        check(told["strength"]["old"], "the strength is of another file")
        check("USABLE 12" not in words_of(told) and "45 and 70 ms, OUTSIDE" in words_of(told), words_of(told))
        check("error" not in desk.post("set", path="link.watchdog", value="50 ms"), "one watchdog for both")
        check("controller_watchdog" not in desk.text() and 'watchdog = "50 ms"' in desk.text(), "it counts")
        desk.wait(lambda told: "USABLE 12" in words_of(told), "it is usable", 60)

        # a rehearsal is of what is typed, whatever the file holds by then
        desk.post("save")
        pathlib.Path("two.toml").write_text(two.replace('"70 ms"', '"20 ms"').replace('"45 ms"', '"20 ms"'))
        desk.post("rehearse")
        told = desk.wait(lambda told: told["rehearsal"]["verdict"], "a rehearsal", 60)
        pathlib.Path("typed.toml").write_text(desk.text())
        check(by_command("run", "typed.toml", "--out", "o")["digest"] == told["rehearsal"]["digest"], "of what is typed")
        os.makedirs("linkdrill-out/other", exist_ok=True)
        pathlib.Path("linkdrill-out/other/report.html").write_text("by a stranger, 4711")
        check("error" not in desk.post("save", name="other"), "another name")
        check(b"stranger, 4711" not in desk.ask("GET", "/evidence/report.html")[1], "no papers of somebody else")
        for name in ("--help", " ", "a/b"):
            check("error" in desk.post("save", name=name), f"a name that is none: {name}")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()
    desk = Desk(linkdrill)
    try:
        desk.listen()
        desk.wait(lambda told: told["file"]["example"], "the example")
        desk.post("set", path="link.watchdog", value="60 ms")
        refused = desk.post("begin", file="typed.toml")
        check("error" in refused and refused["mends"][-1]["words"] == "Leave it", f"nothing typed is lost unasked: {refused}")
        check("error" not in desk.post("begin", **refused["mends"][-1]["fields"]), "left")
        desk.post("job", do="start", what="campaign", trials="100000000")
        child = desk.wait(lambda told: told["jobs"], "a campaign")["jobs"][0]
        check(child["state"] == "runs", "it runs")
        check(not [name for name in os.listdir(".") if "example_of_the_desk" in name], "the example leaves no draft")
        desk.kill()
        time.sleep(0.5)
        left = subprocess.run(["pgrep", "-f", "campaign - --json --trials 100000000"], capture_output=True, text=True, check=False)
        check(left.stdout == "", "a desk that is killed leaves no work behind")
    finally:
        desk.kill()


def strangers():
    """Who has no business here."""
    desk = Desk(linkdrill)
    check(desk.end() == 130, "ended at once")
    check(not [name for name in os.listdir(".") if "example_of_the_desk" in name], "nothing typed, nothing left behind")
    desk = Desk(linkdrill)
    try:
        for host in ("evil.example", f"evil.example:{desk.port}", "127.0.0.1:1", "", f"127.0.0.1.evil.example:{desk.port}"):
            check(desk.ask("GET", "/", headers={"Host": host})[0] == 421, f"foreign Host {host!r}")
        for origin in ("http://evil.example", "null", f"https://127.0.0.1:{desk.port}"):
            check(desk.ask("POST", "/api/enter", {}, {"Origin": origin})[0] == 403, f"foreign Origin {origin}")
        check(desk.ask("POST", "/api/enter", {}, {"X-Token": "0" * 32})[0] == 403, "a wrong secret")
        check(desk.ask("GET", "/api/text", headers={"Cookie": "x=y"})[0] == 401, "text without a session")
        check(desk.ask("GET", "/api/events", headers={"Cookie": "x=y"})[0] == 401, "a stream without a session")
        check(desk.ask("POST", "/api/set", {"path": "seed", "value": "2"}, {"X-Token": ""})[0] == 403, "no secret")
        check(desk.ask("POST", "/api/text", "", {"Content-Length": "5000000"})[0] == 413, "too long a text")
        check(desk.ask("POST", "/api/nothing", {})[0] == 404, "an act that is none")
        check("error" in desk.post("set", path="link[9].x..y", value="1"), "a path that leads nowhere")
        check("error" in desk.post("bench", do="guard", guard="<script>", on="1"), "a guard that is none")
        check("error" in desk.post("replay", injection="nan"), "a moment that is none")
        check(desk.ask("GET", "/desk/pages/../../etc/passwd")[0] == 404, "no other page")
        status, _, reply = desk.ask("GET", "/")
        check(status == 200 and "default-src 'none'" in reply.getheader("Content-Security-Policy"), "the page or its policy")
        listening = subprocess.run(["ss", "-Hltn", f"sport = :{desk.port}"], capture_output=True, text=True, check=False)
        if listening.returncode == 0 and listening.stdout:
            check("127.0.0.1" in listening.stdout and "0.0.0.0:" + str(desk.port) not in listening.stdout, "loopback only")
        check(desk.end() == 130, "status after Ctrl-C")
    finally:
        desk.kill()


for part in (day, a_cell, losing_nothing, truths, strangers):
    try:
        part()
    except Exception as trouble:  # pylint: disable=broad-except
        line = next((frame.lineno for frame in reversed(traceback.extract_tb(trouble.__traceback__))
                     if frame.name == part.__name__), 0)
        check(False, f"{part.__name__}, line {line}: {trouble}")
print(f"{len(problems)} problems")
sys.exit(1 if problems else 0)
