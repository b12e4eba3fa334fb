#!/usr/bin/env python3
"""A commissioning engineer's day: from a template to a complete file, then every mistake of typing, one at a time.

Each mistake must be found by `check`, with both ends' words where it lies at one end, and with a mend that is what was
meant, never a value that `check` itself would warn of. What is typed wrong is what a hand types wrong: a few lines.
With --table the whole table is printed.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile

LINKDRILL = os.environ["LINKDRILL"]
EDITS_AT_MOST = 15
failures = []


def fail(what):
    failures.append(what)
    print("FAILED:", what)


def told(*arguments):
    done = subprocess.run([LINKDRILL, *arguments], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


def edited(text, edits, where):
    """Each edit: how the first of its lines begins, how many lines go, what comes in their place."""
    lines = text.splitlines()
    for begins, count, new in edits:
        found = [i for i, line in enumerate(lines) if line.startswith(begins)]
        if len(found) != 1:
            fail(f"{where}: {len(found)} lines begin with {begins!r}")
            continue
        lines[found[0]:found[0] + count] = new.splitlines()
    return "\n".join(lines) + "\n"


NETWORK = {
    "controller": 'network = { ip = "192.0.2.23", mask = "255.255.255.0", station = "kiln-controller", '
                  'peer_ip = "192.0.2.50", peer_station = "table-drive" }',
    "device": 'network = { ip = "192.0.2.50", mask = "255.255.255.0", station = "table-drive", '
              'peer_ip = "192.0.2.23", peer_station = "kiln-controller" }',
}

# What a person with the two documents open makes of `new guards_in_one_bit`, edit by edit.
TO_COMPLETE = [
    ('title = ', 3, 'title = "Glaze kiln, loading table"\n'
     'shows = "A curtain and a door in one bit stop the table at once, the emergency stop in another by its ramp."\n'
     'plant = "kiln table"'),
    ('profile = "crc32_carried"', 3, 'profile = "crc32_carried"\ncycle = "12 ms"\nwatchdog = "60 ms"\nbyte_order = "high-first"'),
    ('name = "press controller"', 2, 'name = "kiln controller"\naddress = 23\npeer_address = 50\n' + NETWORK["controller"]),
    ('name = "press drive"', 2, 'name = "table drive"\naddress = 50\npeer_address = 23\n' + NETWORK["device"]),
    ('delay = { from = "0.3 ms"', 1, 'delay = { from = "0.5 ms", to = "3 ms" }'),
    ('delay = "15 ms"', 1, 'delay = "20 ms"'),
    ('all_of = ["front_curtain"', 1, 'all_of = ["front_curtain", "side_door"]\n\n[[signal]]\nname = "not_stopped"\n'
     'direction = "to-device"\nall_of = ["emergency_stop"]'),
    ('may_run = "0.0"', 1, 'may_run = "0.0"\nnot_stopped = "1.3"'),
    ('speed = "300 mm/s"', 3, 'speed = "220 mm/s"\nbraking = "3000 mm/s2"\nramp = "2000 mm/s2"\n'
     'reaction = [{ signal = "may_run", stop = "category-0" }, { signal = "not_stopped", stop = "category-1" }]\n\n'
     '[stopping]\nramp_monitored = true'),
    ('safeguards = ["emergency_stop"]', 2, 'safeguards = ["emergency_stop"]\nmust = "category-1"'),
    ('to_device = "110 ms"', 1, 'to_device = "150 ms"'),
]


class Mistake:
    """`edits` on the complete file. What must be said: a difference in `setting` with each end's words and `mend`, or,
    where both ends are alike or the file is refused, `said` in one line."""

    def __init__(self, what, edits, setting="", controller="", device="", mend="", said="", status=1, shown=True):
        self.what, self.edits, self.status = what, edits, status
        self.setting, self.controller, self.device, self.mend = setting, controller, device, mend
        self.said = said
        self.shown = shown  # each end shows it; else nothing does but the paper

    def found(self, document):
        """The line that says it, or nothing."""
        if not self.setting:
            lines = document.get("problems", []) + [f["why"] for f in document.get("functions", []) if not f["ok"]]
            lines += document.get("cautions", []) + [document.get("error", {}).get("message", "")]
            return next((line for line in lines if self.said in line), None)
        for one in document.get("differences", []):
            if self.setting in one["setting"] and self.controller in one["controller"] and self.device in one["device"]:
                told_by_both = not self.shown or (one["seen_at_controller"] and one["seen_at_device"])
                note = one.get("note") or ""
                if told_by_both and self.mend in one["mend"] and self.said in note:
                    return (f'{one["setting"]}: {one["controller"]} / {one["device"]}; '
                            f'mend at {one["mend"]}{"; " if note else ""}{note}')
        return None


def at_controller(line):
    return [('peer_address = 50', 1, 'peer_address = 50\n' + line)]


def at_device(line):
    return [('peer_address = 23', 1, 'peer_address = 23\n' + line)]


# Another link, whose device has the address that is typed by mistake.
NEIGHBOUR = """[neighbour]
name = "polishing line"
controller_address = 70
device_address = 71

[machine]"""


def reactions(may_run, not_stopped):
    return [('reaction = [{', 1, f'reaction = [{{ signal = "may_run", stop = "{may_run}" }}, '
             f'{{ signal = "not_stopped", stop = "{not_stopped}" }}]')]


def in_network(end, line):
    """The line of that key in the table of the end's network."""
    key = line.split(" ")[0]
    begin = {"controller": 'network = { ip = "192.0.2.23"', "device": 'network = { ip = "192.0.2.50"'}[end]
    was = NETWORK[end]
    keys = dict(part.split(" = ", 1) for part in was.removeprefix("network = { ").removesuffix(" }").split(", "))
    keys[key] = line.split(" = ", 1)[1]
    return [(begin, 1, "network = { " + ", ".join(f"{k} = {v}" for k, v in keys.items()) + " }")]


MISTAKES = [
    Mistake("the device's address", [('address = 50', 1, 'address = 60')],
            "address of table drive", "0x0032", "0x003C", "see the design which is meant, 50 (0x32) or 60 (0x3C)"),
    Mistake("an address in the other base", [('address = 50', 1, 'address = "0x50"')],
            "address of table drive", "0x0032", "0x0050", "50 (0x32) or 0x50 (80)", said="the digits agree"),
    Mistake("the next station's address", [('address = 50', 1, 'address = 71'), ("[machine]", 1, NEIGHBOUR)],
            "address of table drive", "0x0032", "0x0047",
            "table drive: 50 (0x32), as kiln controller has it for it; 71 (0x47) is the address of polishing line"),
    Mistake("own and other address exchanged at one end", [('address = 50', 2, 'address = 23\npeer_address = 50')],
            "own and other address", "0x0017 and 0x0032", "0x0017 and 0x0032", "exchange the two at the other one"),
    Mistake("the role of the other end", at_device('role = "controller"'),
            "role of table drive", "device", "controller", "table drive: device"),
    Mistake("the payload's length", at_controller('payload = 8'),
            "payload to table drive", "8 bytes", "4 bytes", "kiln controller: 4 bytes, as [link] has it"),
    Mistake("two bits exchanged", at_device('bits = { may_run = "1.3", not_stopped = "0.0" }'), "byte 0, bit 0",
            "may_run, not_stopped", "not_stopped, may_run", "table drive: may_run = 0.0, not_stopped = 1.3"),
    Mistake("a bit counted from the other side", at_device('bits = { may_run = "0.7", not_stopped = "1.3" }'),
            "byte 0, bits 0 and 7", "may_run, not in use", "not in use, may_run", "table drive: may_run = 0.0"),
    Mistake("a byte off by one", at_device('bits = { may_run = "0.0", not_stopped = "2.3" }'),
            "byte 1, bit 3; byte 2, bit 3", "not_stopped", "not in use", "table drive: not_stopped = 1.3"),
    Mistake("the watchdog in seconds at one end", at_device('watchdog = "60 s"'),
            "watchdog", "60 ms", "1 min", "table drive: 60 ms, as [link] has it"),
    Mistake("a digit of the watchdog left out at one end", at_device('watchdog = "6 ms"'), status=2,
            said='6 ms is under the cycle (12 ms); write "60 ms", as the link itself has it'),
    Mistake("the watchdog in seconds at both ends", [('watchdog = "60 ms"', 1, 'watchdog = "60 s"')],
            said="150 ms is required; write a shorter watchdog"),
    Mistake("a watchdog that can never run at both", [('watchdog = "60 ms"', 1, 'watchdog = "13 ms"'),
                                                      ('scan = "4 ms"', 2, 'scan = "12 ms"')], said="never run"),
    Mistake("no unit", [('watchdog = "60 ms"', 1, 'watchdog = "60"')], status=2,
            said='"60" has no unit; write "60 ms"'),
    Mistake("another profile", at_device('profile = "crc24_implied"'),
            "telegram profile", "crc32_carried", "crc24_implied", "table drive: crc32_carried, as [link] has it"),
    Mistake("another byte order", at_device('byte_order = "low-first"'),
            "byte order", "high byte first", "low byte first", "table drive: high byte first, as [link] has it"),
    Mistake("another level", at_device('claimed_sil = 3'),
            "claimed safety integrity level", "2", "3", "table drive: 2, as [link] has it"),
    Mistake("another reaction, which each end may have", at_device('reaction = "discard"'), status=0,
            said="trip at once at kiln controller and discard, and stop at the second at table drive"),
    Mistake("a guard forgotten in the AND",
            [('all_of = ["front_curtain", "side_door"]', 1, 'all_of = ["front_curtain"]')],
            said="side_door reaches no reaction"),
    Mistake("a stop of the wrong category", reactions("category-0", "category-0"),
            said="emergency_stop must lead to category-1 of press, and by its wiring it leads to category-0"),
    Mistake("two reactions exchanged", reactions("category-1", "category-0"),
            said="front_curtain must lead to category-0 of press, and by its wiring it leads to category-1"),
    Mistake("a signal that nobody uses",
            [('reaction = [{', 1, 'reaction = [{ signal = "may_run", stop = "category-0" }]')],
            said="not_stopped is used by nobody at table drive"),
    Mistake("the other end's IP address", in_network("controller", 'peer_ip = "192.0.2.51"'),
            said="table drive has 192.0.2.50, and kiln controller looks for it as 192.0.2.51; mend: see the network plan"),
    Mistake("a digit of the mask", in_network("device", 'mask = "255.255.250.0"'), said="255.255.250.0 has a 1 behind a 0"),
    Mistake("another subnet", in_network("device", 'ip = "198.51.100.50"'), said="table drive has 198.51.100.50, and kiln controller looks for it as 192.0.2.50; mend: see the network plan"),
    Mistake("a capital in the station's name", in_network("device", 'station = "Table-Drive"'), said='"table-drive": they differ by case only; mend: see the network plan'),
    Mistake("the other module", at_controller('module = "drive_4_4"') + at_device('module = "table_io_4_4"'),
            "module", "drive_4_4", "table_io_4_4"),
    Mistake("another firmware than was believed", at_controller('peer_firmware = "3.1"') + at_device('firmware = "3.2"'),
            "firmware of table drive", "3.1", "3.2", "see the release which one is right", shown=False),
]


def tried(mistake, complete):
    pathlib.Path("wrong.toml").write_text(edited(complete, mistake.edits, mistake.what), encoding="utf-8")
    status, out, _ = told("check", "wrong.toml", "--json")
    document = json.loads(out)
    line = mistake.found(document)
    if status != mistake.status:
        fail(f"{mistake.what}: status {status}, not {mistake.status}")
    if line is None:
        kept = {key: document[key] for key in ("differences", "problems", "cautions", "error") if document.get(key)}
        fail(f"{mistake.what}: not found in {json.dumps(kept, indent=1)}")
    return line


def main():
    os.chdir(tempfile.mkdtemp(dir="."))
    told("new", "guards_in_one_bit", "mine.toml")
    template = pathlib.Path("mine.toml").read_text(encoding="utf-8")
    if len(TO_COMPLETE) > EDITS_AT_MOST:
        fail(f"{len(TO_COMPLETE)} edits from the template to the file of the plant, over {EDITS_AT_MOST}")
    complete = edited(template, TO_COMPLETE, "the file of the plant")
    pathlib.Path("mine.toml").write_text(complete, encoding="utf-8")
    status, out, err = told("check", "mine.toml")
    if status != 0 or "ENDS AGREE" not in out:
        fail(f"check of the file of the plant: status {status}: {out}{err}")
    status, out, err = told("run", "mine.toml", "--out", "evidence")
    if status != 0 or not out.startswith("PASS"):
        fail(f"run of the file of the plant: status {status}: {out}{err}")
    rows = [(one.what, tried(one, complete)) for one in MISTAKES]
    if "--table" in sys.argv:
        for number, (what, line) in enumerate(rows, 1):
            print(f"{number:2}  {what}\n      {line}")
    print(f"{len(TO_COMPLETE)} edits, {len(MISTAKES)} mistakes, {len(failures)} not as they should be")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
