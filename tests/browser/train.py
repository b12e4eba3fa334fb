"""Starts linkdrill train, runs the browser's checks against it, and ends it by Ctrl-C:
train.py LINKDRILL SOURCE NODE SCRIPT MODULES PICTURES"""
import re
import signal
import subprocess
import sys

linkdrill, source, node, script, modules, pictures = sys.argv[1:]
signal.signal(signal.SIGINT, signal.default_int_handler)
server = subprocess.Popen([linkdrill, "train", "--port", "0", "--store", "crew.sqlite"], cwd=None, text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
try:
    head = [server.stdout.readline() for _ in range(3)]
    address = re.search(r"http://127\.0\.0\.1:\d+", head[0]).group()
    secret = re.search(r"#([0-9a-f]{32})", head[1]).group(1)
    done = subprocess.run([node, script, modules, address, secret, pictures], timeout=700)
finally:
    server.send_signal(signal.SIGINT)
    status = server.wait(timeout=10)
print("status after Ctrl-C", status)
sys.exit(0 if done.returncode == 0 and status == 130 else 1)
