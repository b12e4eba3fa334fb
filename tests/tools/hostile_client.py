"""What a server on a plant's computer must bear: hostile_client.py LINKDRILL SOURCE"""
import http.client
import json
import os
import random
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.parse

linkdrill, source = sys.argv[1:]
signal.signal(signal.SIGINT, signal.default_int_handler)
server = subprocess.Popen([linkdrill, "train", "--port", "0", "--store", "crew.sqlite"], cwd=None, text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
lines = [server.stdout.readline() for _ in range(2)]
port = int(re.search(r"127\.0\.0\.1:(\d+)", lines[0]).group(1))
secret = re.search(r"#([0-9a-f]{32})", lines[1]).group(1)
problems = []


def check(holds, words):
    if not holds:
        problems.append(words)
        print("FAILED:", words)


def ask(method, path, fields=None, headers=None, timeout=5):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=timeout)
    body = urllib.parse.urlencode(fields) if isinstance(fields, dict) else fields
    given = {"Content-Type": "application/x-www-form-urlencoded"} if body is not None else {}
    given.update(headers or {})
    try:
        connection.request(method, path, body, given)
        reply = connection.getresponse()
        return reply.status, reply.read(), reply
    finally:
        connection.close()


try:
    status, _, reply = ask("GET", "/")
    check(status == 200 and "default-src 'none'" in reply.getheader("Content-Security-Policy"), "the page or its policy")
    for host in ("evil.example", f"evil.example:{port}", "127.0.0.1:1", "", f"127.0.0.1.evil.example:{port}"):
        check(ask("GET", "/api/me", headers={"Host": host})[0] == 421, f"foreign Host {host!r}")
    for origin in ("http://evil.example", "null", f"https://127.0.0.1:{port}"):
        check(ask("POST", "/api/join", {"name": "x"}, {"Origin": origin})[0] == 403, f"foreign Origin {origin}")
    for path in ("/api/instructor/room", "/api/instructor/results.csv"):
        check(ask("GET", path)[0] == 403, f"{path} without the secret")
        check(ask("GET", path, headers={"X-Token": secret})[0] == 200, f"{path} with the secret")
    check(ask("POST", "/api/act", {"act": "step"})[0] == 401, "an act without a session")

    status, body, reply = ask("POST", "/api/join", {"name": "A. B."})
    cookie = reply.getheader("Set-Cookie").split(";")[0]
    check("HttpOnly" in reply.getheader("Set-Cookie") and "SameSite=Strict" in reply.getheader("Set-Cookie"), "the cookie")
    own = {"Cookie": cookie, "X-Token": json.loads(body)["token"]}
    check(ask("POST", "/api/start", {"drill": 2}, {"Cookie": cookie})[0] == 403, "a start without the token")
    check(ask("POST", "/api/start", {"drill": 2}, {"Cookie": cookie, "X-Token": "0" * 32})[0] == 403, "a wrong token")
    check(ask("POST", "/api/start", {"drill": 2}, own)[0] == 200, "a start with the token")
    for fields in ({"act": "nonsense"}, {"act": "step", "value": "5"}, {"act": "step", "value": "-1"},
                   {"act": "do", "value": "lock-out"}, {"act": "hand-over"}, {"act": "work", "value": "lock-out"},
                   {"act": "keep", "value": "<script>"}, {"act": "demand", "value": "99"}):
        check(400 <= ask("POST", "/api/act", fields, own)[0] < 500, f"{fields} is taken")

    # an act that is none, or at a link that is none; and one at a time
    check(ask("POST", "/api/act", {"act": "step", "value": "4"}, own)[0] == 200, "the step")
    for fields in ({"act": "work"}, {"act": "work", "value": "<b>"}, {"act": "work", "value": "lock-out", "link": "7"},
                   {"act": "work", "value": "lock-out", "link": "-1"}, {"act": "hand-over", "value": "<b>"}):
        check(400 <= ask("POST", "/api/act", fields, own)[0] < 500, f"{fields} is taken")
    check(ask("POST", "/api/act", {"act": "work", "value": "lock-out"}, own)[0] == 200, "an act at its place")
    for fields in ({"act": "work", "value": "call-engineer"}, {"act": "hand-over"}, {"act": "acknowledge"}):
        check(ask("POST", "/api/act", fields, own)[0] == 409, f"{fields} while another is under way")

    def plant_time():
        status, body, _ = ask("GET", "/api/state", headers=own)
        return json.loads(body)["state"]["plant_time"] if status == 200 else None

    before = plant_time()
    try:
        check(ask("POST", "/api/act", b"x" * 10_000_000, own)[0] == 413, "10 MB are taken")
    except (BrokenPipeError, ConnectionResetError):
        pass  # refused before all was sent

    def raw(text, patience=5):
        with socket.create_connection(("127.0.0.1", port), timeout=patience) as one:
            one.sendall(text)
            answer = b""
            try:
                while part := one.recv(65536):
                    answer += part
            except (ConnectionResetError, TimeoutError):
                pass
            return answer

    def memory_kb():
        with open(f"/proc/{server.pid}/status", encoding="ascii") as text:
            return int(re.search(r"VmHWM:\s+(\d+)", text.read()).group(1))

    # lengths that two readers could read differently, and bodies without one, are refused by the head alone
    host = f"Host: 127.0.0.1:{port}\r\n".encode()
    for more, statuses in ((b"Transfer-Encoding: chunked\r\n", (b"411",)),
                           (b"Transfer-Encoding: chunked\r\nContent-Length: 5\r\n", (b"411", b"400")),
                           (b"Transfer-Encoding: xchunked\r\n", (b"411", b"400")),
                           (b"Content-Length: 5\r\nContent-Length: 6\r\n", (b"400",)),
                           (b"Content-Length: 5\r\nContent-Length: 5\r\n", (b"400",)),
                           (b"Content-Length: -5\r\n", (b"400",)), (b"Content-Length: 99999\r\n", (b"413",)),
                           (b"Content-Length: 99999999999999999999\r\n", (b"400", b"413")),
                           (b"Host: 127.0.0.1\r\n", (b"400", b"421"))):
        answer = raw(b"POST /api/join HTTP/1.1\r\n" + host + more + b"\r\n5\r\nname=\r\n0\r\n\r\n")
        check(answer[9:12] in statuses, f"{more}: {answer[:40]}")
    check(raw(b"GET /" + b"x" * 20000 + b" HTTP/1.1\r\n" + host + b"\r\n")[9:12] == b"431", "a head of 20 kB is taken")
    before_kb = memory_kb()
    with socket.create_connection(("127.0.0.1", port), timeout=5) as one:
        one.sendall(b"POST /api/join HTTP/1.1\r\n" + host + b"Transfer-Encoding: chunked\r\n\r\n")
        try:
            for _ in range(400):
                one.sendall(b"100000\r\n" + b"x" * 0x100000 + b"\r\n")
        except (BrokenPipeError, ConnectionResetError):
            pass  # nobody reads it
    check(memory_kb() - before_kb < 20_000, f"a request without an end took {memory_kb() - before_kb} kB")

    # 500 that send a byte a second: nobody waits for them, and they are gone when a head's time is over
    crawling = []
    for _ in range(500):
        crawling.append(socket.create_connection(("127.0.0.1", port), timeout=5))
    worst, began = 0.0, time.monotonic()
    while time.monotonic() - began < 8:
        for one in crawling:
            try:
                one.sendall(b"G")
            except OSError:
                pass
        asked = time.monotonic()
        check(ask("GET", "/api/state", headers=own)[0] == 200, "the state among 500 slow connections")
        worst = max(worst, time.monotonic() - asked)
        time.sleep(1)
    check(worst < 1, f"the state came {worst:.2f} s late among 500 slow connections")
    print(f"among 500 slow connections the state took {worst * 1000:.0f} ms at most")
    gone = 0
    for one in crawling:
        one.setblocking(False)
        try:
            gone += one.recv(1) == b""
        except BlockingIOError:
            pass
        except OSError:
            gone += 1
        one.close()
    check(gone == 500, f"{500 - gone} of 500 slow connections are still there after 8 s")

    # streams that begin and end all the time: pages that are closed and reloaded
    crew = []
    for i in range(12):
        _, body, reply = ask("POST", "/api/join", {"name": f"crew {i}"})
        crew.append(reply.getheader("Set-Cookie").split(";")[0])

    def reload(cookie, until):
        while time.monotonic() < until:
            try:
                with socket.create_connection(("127.0.0.1", port), timeout=5) as one:
                    one.sendall(f"GET /api/events HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n".encode())
                    one.recv(4096)
            except OSError:
                pass

    until = time.monotonic() + 6
    reloading = [threading.Thread(target=reload, args=(cookie, until)) for cookie in crew]
    for one in reloading:
        one.start()
    for one in reloading:
        one.join()
    check(server.poll() is None and ask("GET", "/")[0] == 200, "streams that end and begin brought the server down")

    slow = [socket.create_connection(("127.0.0.1", port)) for _ in range(20)]
    for one in slow:
        one.sendall(b"GET / HTT")
    began = time.monotonic()
    check(ask("GET", "/")[0] == 200 and time.monotonic() - began < 2, "slow clients hold up a page")

    streams, refused = [], 0
    for _ in range(200):
        one = socket.create_connection(("127.0.0.1", port), timeout=8)
        one.sendall(f"GET /api/events HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n".encode())
        streams.append(one)
    time.sleep(5)
    began = time.monotonic()
    check(ask("GET", "/", timeout=10)[0] == 200 and time.monotonic() - began < 5, "200 event streams hold up a page")
    for one in streams:
        one.setblocking(False)
        try:
            refused += b" 503 " in one.recv(64)
        except (BlockingIOError, ConnectionResetError):
            pass
        one.close()
    check(refused >= 100, f"only {refused} of 200 event streams were refused")
    for one in slow:
        one.close()

    draw = random.Random(7)
    for _ in range(150):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as one:
            head = bytearray(f"POST /api/act HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Length: 5\r\n\r\nact=x".encode())
            for _ in range(draw.randint(1, 12)):
                head[draw.randrange(len(head))] = draw.randrange(256)
            one.sendall(bytes(head))
    check(server.poll() is None, "the server ended")
    after = plant_time()
    check(after is not None and after > before, f"the drill stood still: {before} to {after}")
finally:
    server.send_signal(signal.SIGTERM)
    began = time.monotonic()
    status = server.wait(timeout=20)
check(status == 130, f"status {status} after SIGTERM")
check(not os.path.exists("crew.sqlite-wal"), "the store is not one file after SIGTERM")
check(time.monotonic() - began < 10, f"{time.monotonic() - began:.1f} s to end")
print(len(problems), "problems")
sys.exit(bool(problems))
