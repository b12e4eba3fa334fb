"""What every exchange does is written out in the loops of the cells: nothing of it is a call in the shipped program.

The loop is disassembled in the program that LINKDRILL names, on x86-64 only. Functions that few telegrams meet are calls
on purpose, and what is out of line for others keeps its symbol; only calls from a loop count.
"""

import os
import platform
import re
import shutil
import subprocess
import sys

from sources import finish

LOOP = re.compile(r"^sim::Cell<sim::Heard<(?P<who>.*)> >::run_on_until\(")
# Loops that must be there: trials, studies and simulated years; rehearsals.
CELLS = ("sim::Observer", "sim::Observer, sim::LineIfAny, sim::TraceIfAny, sim::DemandTrail")
HOT = re.compile(
    r"""(proto::CrcEngine::(feed|feed_in_place|finish|difference)
    |proto::Codec::(encode|encode_next|decode|decode_next)
    |proto::Endpoint::(on_deadline|transmit|poll_transmit)
    |proto::Endpoint::Core::(open_scan|look_at|process|accept|order_of|follow|transmit|send_fresh|send_again)
    |sim::EndRun<.*>::(take|give|conclude)
    |sim::Station<.*>::scan
    |sim::Cell<.*>::(offer|arrivals|tell)
    |sim::Channel::(slot|offer|insert|take|release|next_due)
    |sim::DelayTable::at|sim::Random::at
    |sim::Observer::(mix|check_age)
    |sim::Observer::hear\(sim::(Produced|Concluded|InUse)\ const&\)
    )(<.*>)?(\(|$)""",
    re.VERBOSE,
)


def main() -> None:
    program = os.environ.get("LINKDRILL", "")
    if platform.machine() not in ("x86_64", "AMD64"):
        print("not x86-64: its loops are not looked at")
        sys.exit(77)
    if not shutil.which("objdump"):
        print("there is no objdump here: install binutils")
        sys.exit(1)
    command = ["objdump", "--disassemble", "--no-show-raw-insn", "--demangle", program]
    listing = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    problems: list[str] = []
    calls = 0
    seen: set[str] = set()
    who = None
    for line in listing.splitlines():
        if head := re.match(r"^[0-9a-f]+ <(.*)>:$", line):
            loop = LOOP.match(head[1])
            who = loop["who"] if loop and loop["who"] in CELLS else None
            if who:
                seen.add(who)
        elif who and (call := re.search(r"\b(?:call|jmp)q?\s+[0-9a-f]+ <(.*?)(\+0x[0-9a-f]+)?>$", line)):
            if call[2]:  # within the function
                continue
            calls += 1
            if HOT.match(re.sub(r"^void ", "", call[1])):
                problems.append(f"the loop of {who} calls {call[1]}")
    problems += [f"the program has no loop of a cell heard by {cell}" for cell in CELLS if cell not in seen]
    finish(sorted(set(problems)), calls, "calls from the loops")


main()
