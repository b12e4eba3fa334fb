"""What the tests of refusals at the desk share: the table, what must hold of a refusal, and the press of its buttons."""
import pathlib
import re
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from desk_visitor import Desk  # noqa: E402

linkdrill, source = sys.argv[1:]
templates, scenarios = pathlib.Path(source, "scenarios/templates"), pathlib.Path(source, "scenarios")
table = dict(re.findall(r'RefusalRule\{Refused::\w+, "([\w-]+)", Mending::(\w+)\}',
                        pathlib.Path(source, "tools/desk/refusal.hpp").read_text()))
pages = "".join(one.read_text() for one in pathlib.Path(source, "tools/desk/pages").glob("*.js"))
problems, provoked = [], {}


def check(holds, words):
    if not holds:
        problems.append(words)
        print("FAILED:", words)


def refused(kind, reply, words=""):
    """That reply is a refusal of that kind, and keeps what the table says of it; its mends by their words."""
    check(reply.get("kind") == kind, f"not {kind}: {reply}")
    mends = reply.get("mends", [])
    provoked.setdefault(kind, reply.get("error"))
    check(words in reply.get("error", ""), f"{kind} does not say {words!r}: {reply}")
    if table.get(kind) == "press":
        check(mends, f"{kind} has no button: {reply}")
        check(kind == "foreign-page" or all(mend.get("act") != "reload" for mend in mends), f"{kind}: {mends}")
    else:
        check(not mends, f"{kind} has a button, but its rule says otherwise: {reply}")
    for mend in mends:
        check(mend["words"] and ("path" in mend) != ("act" in mend), f"a button of {kind}: {mend}")
        if "act" in mend:
            check(re.search(rf"""^  '?{mend["act"]}'?(:|,| )""", pages, re.M), f"the page has no act {mend['act']}")
    return {mend["words"]: mend for mend in mends}


def press(desk, mends, words):
    """What is answered to the press of that button."""
    if words not in mends:
        check(False, f"no button {words!r} among {list(mends)}")
        return {}
    mend = mends[words]
    return desk.post(mend["path"].removeprefix("/api/"), **{key: str(value) for key, value in mend["fields"].items()})


def mended(desk, mends, words):
    answer = press(desk, mends, words)
    check("ok" in answer, f"{words!r} mended nothing: {answer}")


def bench(desk, **fields):
    return desk.post("bench", **fields)


def fresh(name, template, change=lambda text: text):
    """A file of that template, saved, and its desk with a link that runs."""
    pathlib.Path(name).write_text(change((templates / template).read_text()))
    desk = Desk(linkdrill, name)
    desk.listen()
    desk.wait(lambda told: told["bench"] and told["bench"]["links"][0]["device"]["state"] == "running", "the link")
    return desk
