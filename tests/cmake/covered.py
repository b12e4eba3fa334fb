"""Adds up what llvm-cov exports: lines and branches of each folder of proto and sim, without those of require().

covered.py ROOT EXPORT.json FILES"""
import collections
import json
import os
import pathlib
import re
import sys

CALL = re.compile(r"\brequire\(")


def contract_lines(text):
    """Numbers of the lines on which a call of require() stands, all of its lines."""
    lines = set()
    for call in CALL.finditer(text):
        depth, at = 1, call.end()
        while depth and at < len(text):
            depth += {"(": 1, ")": -1}.get(text[at], 0)
            at += 1
        first = text.count("\n", 0, call.start()) + 1
        lines.update(range(first, text.count("\n", 0, at) + 2))
    return lines


def line_counts(segments):
    """Line -> whether it was run, by the regions that begin on it or reach it (LLVM's segments: line, column, count,
    has count, begins a region, is a gap)."""
    counts = {}
    reaching = None
    at_line = 0
    for line, _, count, has_count, begins, gap in segments:
        for between in range(at_line + 1, line):
            if reaching is not None:
                counts[between] = reaching
        here = count if has_count and begins and not gap else None
        if line != at_line and reaching is not None:
            counts[line] = max(counts.get(line, 0), reaching)
        if here is not None:
            counts[line] = max(counts.get(line, 0), here)
        reaching = count if has_count and not gap else None
        at_line = line
    return counts


def branch_counts(branches):
    """Place -> [times true, times false], over all instances of a template."""
    counts = collections.defaultdict(lambda: [0, 0])
    for first_line, first_column, last_line, last_column, true, false, *_ in branches:
        place = counts[first_line, first_column, last_line, last_column]
        place[0] += true
        place[1] += false
    return counts


class Sum:
    def __init__(self):
        self.lines = self.lines_run = self.branches = self.branches_run = 0

    def add(self, other):
        self.lines += other.lines
        self.lines_run += other.lines_run
        self.branches += other.branches
        self.branches_run += other.branches_run

    def told(self, name):
        def share(part, whole):
            return f"{100 * part / whole:6.1f} %" if whole else "       -"
        return (f"{name:34} {share(self.lines_run, self.lines)} of {self.lines:6}   "
                f"{share(self.branches_run, self.branches)} of {self.branches:6}")


def sum_of(file, text):
    left_out = contract_lines(text)
    found = Sum()
    for line, count in line_counts(file["segments"]).items():
        if line not in left_out:
            found.lines += 1
            found.lines_run += count > 0
    for (line, *_), counts in branch_counts(file["branches"]).items():
        if line not in left_out:
            found.branches += 2
            found.branches_run += sum(count > 0 for count in counts)
    return found


def main():
    root, export, most = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), int(sys.argv[3])
    layers, folders, files = (collections.defaultdict(Sum) for _ in range(3))
    for file in json.loads(export.read_text(encoding="utf-8"))["data"][0]["files"]:
        path = pathlib.Path(os.path.normpath(file["filename"]))
        name = path.relative_to(root).as_posix()
        if not name.startswith(("proto/", "sim/")):
            continue
        found = sum_of(file, path.read_text(encoding="utf-8"))
        files[name].add(found)
        layers[name.split("/")[0]].add(found)
        folders[name.rsplit("/", 1)[0]].add(found)
    print(f"{'':34} {'lines':>19} {'branches':>21}")
    for kind in (layers, folders):
        for name in sorted(kind):
            print(kind[name].told(name + "/"))
        print()
    # by branches that no test takes, and lines where a file has none
    missed = sorted(files, key=lambda name: files[name].branches_run - files[name].branches + (
        files[name].lines_run - files[name].lines) / 1000)
    for name in missed[:most]:
        print(files[name].told(name))


main()
