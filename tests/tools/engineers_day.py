#!/usr/bin/env python3
"""A commissioning engineer's day: from a template to a complete file, then every mistake of typing, one at a time.

Each mistake must be found by `check`, with both ends' words where it lies at one end, and with a mend that is what the
complete file says. What is typed wrong is one edit, as a hand would do it. --table prints what was found.
"""
import json
import os
import subprocess
import sys

LINKDRILL = os.environ["LINKDRILL"]
failed = 0


def fail(what):
    global failed
    failed += 1
    print("FAILED:", what)


def told(*arguments):
    done = subprocess.run([LINKDRILL, *arguments], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


# From `new guards_in_one_bit` to the file of the plant: what a person with two documents open alters, line by line.
EDITS = [
    ('title = "Tile press, three guards in one bit"', 'title = "Glaze kiln, loading table"'),
    ('plant = "tile press"', 'plant = "kiln table"'),
    ('cycle = "10 ms"', 'cycle = "12 ms"'),
    ('watchdog = "45 ms"', 'watchdog = "60 ms"'),
    ('name = "press controller"\n', 'name = "kiln controller"\npeer_address = 50\n'),
    ('address = "0x0031"', "address = 23"),
    ('name = "press drive"\n', 'name = "table drive"\npeer_address = 23\n'),
    ('address = "0x0032"', "address = 50"),
    ('delay = { from = "0.3 ms", to = "0.8 ms" }', 'delay = { from = "0.5 ms", to = "3 ms" }'),
    ('all_of = ["front_curtain", "side_door", "emergency_stop"]\n',
     'all_of = ["front_curtain", "side_door"]\n\n[[signal]]\nname = "not_stopped"\ndirection = "to-device"\n'
     'all_of = ["emergency_stop"]\n'),
    ('may_run = "0.0"\n', 'may_run = "0.0"\nnot_stopped = "1.3"\n'),
    ('reaction = [{ signal = "may_run", stop = "category-0" }]',
     'reaction = [{ signal = "may_run", stop = "category-0" }, { signal = "not_stopped", stop = "category-1" }]\n'
     'ramp = "2000 mm/s2"\nstopping = { ramp_monitored = true }'),
    ('safeguards = ["emergency_stop"]\nmust = "category-0"', 'safeguards = ["emergency_stop"]\nmust = "category-1"'),
    ('speed = "300 mm/s"', 'speed = "220 mm/s"'),
    ('to_device = "110 ms"', 'to_device = "140 ms"'),
]
