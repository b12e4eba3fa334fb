"""A relay between the device and the channel that does one thing to what goes to the device, while it is told to.

relay.py OWN DEVICE CHANNEL double|swap; reads "begin" and "end" from standard input, and says at the end how often it did
it. `double` sends one in ten twice, half a cycle apart; `swap` sends one in thirty after the next
one that says something else: what is said again in between goes first, and cannot be told from it."""
import select
import socket
import sys
import time


def address(text):
    host, port = text.rsplit(":", 1)
    return host, int(port)


own, device, channel = (address(text) for text in sys.argv[1:4])
swaps = sys.argv[4] == "swap"
wire = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
wire.bind(own)
seen = count = 0
at_work = False
held = None
later = []  # (when, telegram)
while True:
    wait = max(0.0, min((when for when, _ in later), default=time.monotonic() + 1.0) - time.monotonic())
    ready, _, _ = select.select([wire, sys.stdin], [], [], wait)
    for when, telegram in [one for one in later if one[0] <= time.monotonic()]:
        wire.sendto(telegram, device)
        later.remove((when, telegram))
    if sys.stdin in ready:
        word = sys.stdin.readline().strip()
        at_work = word == "begin"
        if word == "end":
            print(count, flush=True)
    if wire not in ready:
        continue
    telegram, sender = wire.recvfrom(2048)
    if sender == device:
        wire.sendto(telegram, channel)
        continue
    if held is not None:
        wire.sendto(telegram, device)
        if telegram != held:
            wire.sendto(held, device)
            held = None
        continue
    seen += 1
    if at_work and swaps and seen % 30 == 0:
        held = telegram
        count += 1
        continue
    wire.sendto(telegram, device)
    if at_work and not swaps and seen % 10 == 0:
        later.append((time.monotonic() + 0.005, telegram))
        count += 1
