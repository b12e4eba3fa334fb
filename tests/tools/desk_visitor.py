"""A desk as a program speaks to it: starts linkdrill desk and asks as its page does."""
import http.client
import json
import re
import signal
import subprocess
import threading
import time
import urllib.parse


def changed(before, change):
    """As tools/pages/changes.js."""
    how, what = change[0], change[1:]
    if how == 0:
        return what[0]
    if how == 1:
        now = dict(before)
        for key, one in what[0].items():
            now[key] = changed(before.get(key), one)
        return now
    if how == 2:
        return before[what[0]:] + what[1:]
    now = list(before)
    for place, one in what:
        now[place] = changed(before[place], one)
    return now


class Desk:
    """`words`: after "linkdrill desk"."""

    def __init__(self, linkdrill, *words, folder=None, environment=None):
        self.server = subprocess.Popen([linkdrill, "desk", "--no-open", *words], cwd=folder, text=True, env=environment,
                                       stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        line = self.server.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)/#([0-9a-f]{32})", line)
        if not found:
            raise RuntimeError(line + self.server.stdout.read())
        self.port, self.secret = int(found.group(1)), found.group(2)
        self.cookie = ""
        status, _, reply = self.ask("POST", "/api/enter", {})
        self.cookie = reply.getheader("Set-Cookie").split(";")[0] if status == 200 else ""
        self.told, self.told_at, self.stream = None, 0.0, None

    def ask(self, method, path, fields=None, headers=None, timeout=20):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        body = urllib.parse.urlencode(fields) if isinstance(fields, dict) else fields
        given = {"Cookie": self.cookie} if self.cookie else {}
        if body is not None:
            given["Content-Type"] = "application/x-www-form-urlencoded"
        if method == "POST":
            given["X-Token"] = self.secret
        given.update(headers or {})
        try:
            connection.request(method, path, body, given)
            reply = connection.getresponse()
            return reply.status, reply.read(), reply
        finally:
            connection.close()

    def post(self, what, /, **fields):
        """What it answered; the refusal's words under "error"."""
        _, body, _ = self.ask("POST", "/api/" + what, fields)
        return json.loads(body)

    def text(self):
        return json.loads(self.ask("GET", "/api/text")[1])["text"]

    def listen(self):
        """Keeps `told` up to date from now on."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        connection.request("GET", "/api/events", headers={"Cookie": self.cookie})
        reply = connection.getresponse()
        if reply.status != 200:
            raise RuntimeError(f"no stream: {reply.status}")

        def hear():
            kind = ""
            for raw in reply:
                line = raw.decode().rstrip("\n")
                if line.startswith("event: "):
                    kind = line[7:]
                elif line.startswith("data: "):
                    data = json.loads(line[6:])
                    self.told = changed(self.told, data) if kind == "changes" else data
                    self.told_at = time.monotonic()
                    kind = ""

        def hear_until_closed():
            try:
                hear()
            except (OSError, ValueError, AttributeError, http.client.HTTPException):
                pass

        self.stream = connection
        threading.Thread(target=hear_until_closed, daemon=True).start()
        self.wait(lambda told: told is not None, "the first state")

    def wait(self, holds, what, seconds=30.0):
        """Until that holds of what was told; what was told then."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            told = self.told
            if told is not None and holds(told):
                return told
            time.sleep(0.02)
        raise RuntimeError(f"waited in vain for {what}")

    def end(self):
        self.server.send_signal(signal.SIGINT)
        return self.server.wait(timeout=10)

    def kill(self):
        self.server.kill()
        self.server.wait()
