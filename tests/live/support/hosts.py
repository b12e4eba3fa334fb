"""Three computers and a switch, made of network namespaces: everything on the wire can be counted, lost, altered, pulled.

Names carry this process's number; whatever happens, they are gone at the end."""
import json
import os
import subprocess

HOSTS = {"controller": "10.77.0.1", "channel": "10.77.0.2", "device": "10.77.0.3"}
PORT = 4700


def out_of(*arguments, **keywords):
    done = subprocess.run(arguments, capture_output=True, text=True, timeout=20, check=False, **keywords)
    if done.returncode != 0:
        raise OSError(f"{' '.join(arguments)}: {done.stderr.strip()}")
    return done.stdout


class NotPermitted(Exception):
    """This computer makes no namespaces, or filters nothing in them."""


class Hosts:
    """Use with `with`; NotPermitted if it cannot be had."""

    def __init__(self):
        self.prefix = f"ld{os.getpid() % 100000}-"

    def __enter__(self):
        try:
            out_of("ip", "netns", "add", self.prefix + "switch")
            self.inside("switch", "ip", "link", "add", "hub", "type", "bridge", "forward_delay", "0")
            self.inside("switch", "nft", "-f", "-", input=COUNTERS)
        except OSError as error:
            self.__exit__()
            raise NotPermitted(error) from error
        try:
            self._make()
        except OSError:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_):
        for name in (*HOSTS, "switch"):
            subprocess.run(["ip", "netns", "del", self.prefix + name], capture_output=True, timeout=20, check=False)

    def _make(self):
        self.inside("switch", "sysctl", "-q", "-w", "net.ipv6.conf.all.disable_ipv6=1", "net.ipv6.conf.default.disable_ipv6=1")
        self.inside("switch", "ip", "link", "set", "hub", "up")
        for name, address in HOSTS.items():
            out_of("ip", "netns", "add", self.prefix + name)
            self.inside(name, "sysctl", "-q", "-w", "net.ipv6.conf.all.disable_ipv6=1",
                        "net.ipv6.conf.default.disable_ipv6=1")
            self.inside("switch", "ip", "link", "add", name, "type", "veth", "peer", "name", "lan", "netns",
                        self.prefix + name)
            self.inside("switch", "ip", "link", "set", name, "master", "hub", "up")
            self.inside(name, "ip", "address", "add", address + "/24", "dev", "lan")
            self.inside(name, "ip", "link", "set", "lan", "up")
            self.inside(name, "ip", "link", "set", "lo", "up")
            self.inside(name, "nft", "-f", "-", input=COUNTERS)
        for name, address in HOSTS.items():  # each knows the others' addresses: nothing waits for them
            for other, theirs in HOSTS.items():
                if other != name:
                    link = json.loads(self.inside(other, "ip", "-j", "link", "show", "lan"))[0]["address"]
                    self.inside(name, "ip", "neighbour", "replace", theirs, "lladdr", link, "dev", "lan", "nud",
                                "permanent")

    def command(self, host):
        """What to type before a command for it to run there."""
        return ["ip", "netns", "exec", self.prefix + host]

    def inside(self, host, *arguments, **keywords):
        return out_of(*self.command(host), *arguments, **keywords)

    def rule(self, host, chain, rule):
        self.inside(host, "nft", "add", "rule", "inet", "wire", chain, *rule.split())

    def no_rules(self, host, chain):
        """Takes the rules of a chain away, and tells how often they were followed since the last time."""
        self.inside(host, "nft", "flush", "chain", "inet", "wire", chain)
        done = self.counted(host, "done")  # only now: nothing more is done
        self.inside(host, "nft", "reset", "counter", "inet", "wire", "done")
        return done

    def counted(self, host, name):
        listed = json.loads(self.inside(host, "nft", "-j", "list", "counter", "inet", "wire", name))
        return [entry["counter"]["packets"] for entry in listed["nftables"] if "counter" in entry][0]

    def plug(self, host, state):
        """The cable between the host and the switch, at the switch: "down" pulls it."""
        self.inside("switch", "ip", "link", "set", host, state)


# "sent" counts what goes to the device before anything is done to it, "heard" what comes in after all that was done.
COUNTERS = f"""
table inet wire {{
  counter sent {{ }}
  counter heard {{ }}
  counter done {{ }}
  chain on_the_way {{ type filter hook input priority 0; }}
  chain counting_in {{ type filter hook input priority 10; udp dport {PORT} counter name heard; }}
  chain counting_out {{ type filter hook output priority 0; udp dport {PORT} ip daddr {HOSTS["device"]} counter name sent; }}
}}
"""
