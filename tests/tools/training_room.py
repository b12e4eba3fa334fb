"""A training that a test starts, asks and ends."""
import http.client
import json
import re
import subprocess
import time
import urllib.parse


def begin_work(training, own, card):
    """Goes to step 4 and begins that act there; what the computer tells then."""
    for fields in ({"act": "step", "value": "4"}, {"act": "work", "value": card}):
        reply, told = training.ask("POST", "/api/act", fields, own)
        assert reply.status == 200, (fields, told)
    return told


def until_done(training, own, patience_s=60):
    """Looks on until nothing is under way any more; what the computer tells then."""
    page = http.client.HTTPConnection("127.0.0.1", training.port, timeout=10)
    page.request("GET", "/api/events", headers=own)  # where nobody looks the plant stands
    stream = page.getresponse()
    end = time.monotonic() + patience_s
    try:
        while True:
            while stream.readline().strip():
                pass  # one telling
            reply, told = training.ask("GET", "/api/state", None, own)
            assert reply.status == 200, told
            if told["state"] is None or told["state"]["work"] is None:
                return told
            assert time.monotonic() < end, f"still under way: {told['state']['work']}"
    finally:
        page.close()


def hand_in(training, own, *cards):
    """Does these one after the other and hands over; the status, and what the computer tells then."""
    for card in cards:
        begin_work(training, own, card)
        until_done(training, own)
    reply, told = training.ask("POST", "/api/act", {"act": "hand-over"}, own)
    return reply.status, told


class Training:
    def __init__(self, linkdrill, file):
        self.process = subprocess.Popen([linkdrill, "train", "--port", "0", "--store", file], text=True,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        lines = [self.process.stdout.readline() for _ in range(2)]
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", lines[0]).group(1))
        self.secret = re.search(r"#([0-9a-f]{32})", lines[1]).group(1)

    def ask(self, method, path, fields, headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        head = {"Content-Type": "application/x-www-form-urlencoded"} if fields is not None else {}
        connection.request(method, path, urllib.parse.urlencode(fields) if fields is not None else None,
                           head | headers)
        reply = connection.getresponse()
        body = reply.read()
        connection.close()
        return reply, json.loads(body)

    def join(self, name):
        """What the trainee's requests have with them from then on."""
        reply, told = self.ask("POST", "/api/join", {"name": name}, {})
        return {"Cookie": reply.getheader("Set-Cookie").split(";")[0], "X-Token": told["token"]}

    def post(self, path, fields, own):
        reply, told = self.ask("POST", path, fields, own)
        return reply.status, told

    def instruct(self, act, fields):
        reply, told = self.ask("POST", "/api/instructor/" + act, fields, {"X-Token": self.secret})
        assert reply.status == 200, (act, told)
        return told

    def instructor(self, what):
        return self.ask("GET", "/api/instructor/" + what, None, {"X-Token": self.secret})[1]

    def end(self, how):
        self.process.send_signal(how)
        return self.process.wait(timeout=20)
