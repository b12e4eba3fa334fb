"""Starts linkdrill desk, runs the browser's checks against it, and ends it by Ctrl-C:
desk.py LINKDRILL NODE SCRIPT MODULES PICTURES"""
import re
import signal
import subprocess
import sys

linkdrill, node, script, modules, pictures = sys.argv[1:]
signal.signal(signal.SIGINT, signal.default_int_handler)
server = subprocess.Popen([linkdrill, "desk", "--no-open"], text=True, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT)
try:
    line = server.stdout.readline()
    address, secret = re.search(r"(http://127\.0\.0\.1:\d+)/#([0-9a-f]{32})", line).groups()
    done = subprocess.run([node, script, modules, address, secret, pictures, linkdrill], timeout=280)
finally:
    server.send_signal(signal.SIGINT)
    status = server.wait(timeout=10)
print("status after Ctrl-C", status)
sys.exit(0 if done.returncode == 0 and status == 130 else 1)
