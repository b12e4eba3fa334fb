"""The folders from the bottom up: a file includes its own folder and those that its folder's row lists.

A row names only earlier folders, and only those that some include uses: the table is what is, not what might be. A
feature of tools may use another feature only as its row lists.
"""

import re
from pathlib import PurePosixPath

from sources import code_only, cpp_files, finish, source_root

LAYERS = ("proto", "sim", "tools")

# A folder, or a file that stands alone: what it may include. "sim/{a,b}" are sim/a and sim/b.
ROWS = {
    "proto": "",
    "sim/numeric": "proto",
    "sim/scenario": "proto",
    "sim/channel": "proto sim/{numeric,scenario}",
    "sim/plant": "proto sim/{scenario}",
    "sim/integrity": "proto sim/{numeric}",
    "sim/timing": "proto sim/{numeric,scenario,plant}",
    "sim/capture": "proto sim/{scenario,channel}",
    "sim/judge": "proto sim/{scenario,channel,plant}",
    "sim/link": "proto sim/{numeric,scenario,channel,plant,judge}",
    "sim/cell": "proto sim/{numeric,scenario,channel,plant,timing,judge,link}",
    "sim/odds": "proto sim/{numeric,scenario,channel,timing}",
    "sim/drive": "proto sim/{numeric,scenario,channel,plant,timing,capture,judge,link,cell}",
    "sim/measures": "proto sim/{numeric,scenario,drive}",
    "sim/studies": "proto sim/{numeric,scenario,plant,timing,judge,drive,measures}",
    "sim/training": "proto sim/{numeric,scenario,capture,judge,cell,drive,timing}",
    "sim/desk": "proto sim/{scenario,channel,plant,timing,judge,cell,drive,training}",
    "sim/roundtrips": "proto sim/{capture}",
    "sim/reading": "proto sim/{numeric,scenario,channel,timing,capture,judge,training}",
    "sim/live": "proto sim/{numeric,scenario,timing,capture,roundtrips,judge,link,cell,drive}",
    "tools/text": "proto sim/{scenario,timing,judge}",
    "tools/program": "proto sim/{scenario,timing,reading,integrity,drive} tools/{text}",
    "tools/pages": "",
    "tools/store": "proto sim/{scenario,capture} tools/{text,program}",
    "tools/web": "proto tools/{text,program,pages}",
    "tools/capture": "proto sim/{scenario,channel,capture,judge,reading} tools/{text,program}",
    "tools/response": "sim/{scenario,timing,studies} tools/{text,program,store}",
    "tools/watchdog": "sim/{numeric,scenario,timing,odds} tools/{text,program,store}",
    "tools/residual": "proto sim/{scenario,timing,integrity,reading} tools/{text,program,store}",
    "tools/check": "proto sim/{scenario,measures,studies,training,reading} tools/{text,program,store,residual}",
    "tools/plant": "sim/{scenario,studies} tools/{text}",
    "tools/report": "proto tools/{text,program,pages,store}",
    "tools/run": "proto sim/{scenario,plant,timing,judge,drive,studies,live}"
    " tools/{text,program,store,capture,plant,report}",
    "tools/roundtrips": "sim/{scenario,roundtrips,live} tools/{text,program,store,report}",
    "tools/measures": "sim/{scenario,measures} tools/{text,program,store}",
    "tools/campaign": "proto sim/{numeric,scenario,judge,drive} tools/{text,program,store,run}",
    "tools/endurance": "sim/{numeric,scenario,drive} tools/{text,program,store}",
    "tools/training": "proto sim/{scenario,capture,training,reading} tools/{text,program,store,web}",
    "tools/examples": "proto sim/scenario tools/{text,program}",
    "tools/desk": "proto sim/{scenario,timing,odds,desk,studies,reading}"
    " tools/{text,program,store,web,plant,examples}",
    "tools/keys": "sim/{reading} tools/{text,program}",
    "tools/completion": "tools/{text,program}",
    "tools/main.cpp": "tools/{program}",
}

# Includes that are in no row, as "file: header". They may only become fewer: whoever mends one takes its line out.
EXCEPTIONS: set[str] = set()


def names_in(row: str) -> list[str]:
    """ "proto sim/{a,b}" -> ["proto", "sim/a", "sim/b"]."""
    names = []
    for word in row.split():
        layer, braces, inside = word.partition("/{")
        names += [f"{layer}/{name}" for name in inside.rstrip("}").split(",")] if braces else [layer]
    return names


def place_of(name: str) -> str:
    """The row that a file belongs to."""
    return name if name in ROWS else str(PurePosixPath(name).parent)


def wrong_rows(files: list[str]) -> list[str]:
    """What is wrong with the table itself."""
    problems = [f"{place}: has no row" for place in sorted({place_of(name) for name in files} - set(ROWS))]
    places, earlier = {place_of(name) for name in files}, set()
    for place, row in ROWS.items():
        if place not in places:
            problems.append(f"the row of {place}: there is no such folder or file")
        for name in names_in(row):
            if name not in earlier:
                problems.append(f"the row of {place} names {name}, which has no earlier row")
        earlier.add(place)
    return problems


def main() -> None:
    root = source_root()
    paths = [path for layer in LAYERS for path in cpp_files(root / layer)]
    files = [path.relative_to(root).as_posix() for path in paths]
    problems = wrong_rows(files)
    rows = {place: set(names_in(row)) for place, row in ROWS.items()}
    unused = {(place, name) for place, names in rows.items() for name in names}
    stale = set(EXCEPTIONS)
    for path, file in zip(paths, files):
        place = place_of(file)
        for number, line in enumerate(code_only(path.read_text()).splitlines(), 1):
            found = re.match(r'\s*#\s*include\s*"([^"]+)"', line)
            if not found or (target := place_of(found[1])) == place:
                continue
            unused.discard((place, target))
            if target in rows.get(place, set()):
                continue
            entry = f"{file}: {found[1]}"
            if entry in EXCEPTIONS:
                stale.discard(entry)
            else:
                problems.append(f"{file}:{number}: the row of {place} does not list {target}")
    problems += [f"the row of {place} lists {name}, which nothing there includes" for place, name in sorted(unused)]
    problems += [f'the exception "{entry}" is no longer there: take it out' for entry in sorted(stale)]
    finish(problems, len(files), "files")


main()
