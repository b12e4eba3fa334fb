"""How the documents of a run are kept: what depends on the machine is masked, what is long or binary becomes hashes."""

import hashlib
import json
import re
import struct
from collections.abc import Iterator

WHOLE_MAX = 64 * 1024  # bytes of a text that is kept as it is
JSON_WHOLE_MAX = 12 * 1024
MEMBER_WHOLE_MAX = 1024  # of a member of a longer JSON document
LINES_OF_A_SECTION = 200
PACKETS_OF_A_SECTION = 10_000
TEXT_OF_AN_OPTION = 200

_BLANKED = re.compile(r"(<(script|style)\b[^>]*>)(.*?)(</\2>)", re.DOTALL)
_HASHED = re.compile(r"'sha256-[^']+'")
_DATA = re.compile(r"<script\b[^>]*\btype=\"application/json\"")
# A slow machine says how far it is.
# Which build it was: that golden values are compared across.
_MADE_BY = re.compile(r'(?<="made_by": ")[^"]*(?=")|(?<=, made by )linkdrill .*')
_PROGRESS = re.compile(r"^(?:\d+ %|(?:campaign|measures|residual|response|watchdog): ).*\n?", re.MULTILINE)


def _hash(data: str | bytes) -> str:
    if isinstance(data, str):
        data = data.encode("utf-8", "surrogateescape")
    return hashlib.sha256(data).hexdigest()[:32]


def _row(data: str | bytes, name: str) -> str:
    return f"{_hash(data)} {len(data):9} {name}".rstrip() + "\n"


class Masks:
    """The version of the program, its build, the folder that it runs in, and progress."""

    def __init__(self, version: str, folder: str):
        # not inside a longer number, such as an address
        self._version = re.compile(r"(?<![0-9.])" + re.escape(version) + r"(?!\.?[0-9])")
        self._folder = folder

    def text(self, text: str) -> str:
        return self._version.sub("VERSION", _MADE_BY.sub("BUILD", text.replace(self._folder, "FOLDER")))

    def errors(self, text: str) -> str:
        return _PROGRESS.sub("", self.text(text))


def _sections_of_json(text: str) -> Iterator[str]:
    document = json.loads(text)
    members = document.items() if isinstance(document, dict) else ((str(i), v) for i, v in enumerate(document))
    for key, value in members:
        short = json.dumps(value, ensure_ascii=False)
        yield f"{key}: {short}\n" if len(short) <= MEMBER_WHOLE_MAX else _row(short, key)


def _sections_of_lines(text: str) -> Iterator[str]:
    lines = text.splitlines(keepends=True)
    for first in range(0, len(lines), LINES_OF_A_SECTION):
        block = lines[first : first + LINES_OF_A_SECTION]
        yield _row("".join(block), f"from line {first + 1}: {block[0].strip()[:60]}")


def _sections_of_html(text: str) -> Iterator[str]:
    for part in re.split(r"(?=<h[12]\b)", text):
        heading = re.match(r"<h[12]\b[^>]*>(.*?)</h[12]>", part, re.DOTALL)
        yield _row(part, re.sub(r"<[^>]*>", "", heading[1]) if heading else "before the first heading")


def _without_looks(page: str) -> str:
    """A page without its script and style. Data that lies in it for charts stays, as hashes."""

    def blanked(match: re.Match) -> str:
        if not _DATA.match(match[1]):
            return match[1] + match[4]
        return match[1] + "\n" + "".join(_sections_of_json(match[3])) + match[4]

    return _HASHED.sub("'sha256-'", _BLANKED.sub(blanked, page))


def _options(body: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at + 4 <= len(body):
        code, length = struct.unpack_from("<HH", body, at)
        if code == 0:
            return
        yield code, body[at + 4 : at + 4 + length]
        at += 4 + (length + 3) // 4 * 4


def _capture(data: bytes, masks: Masks) -> str:
    """A pcapng file: the texts of its section and interfaces, and hashes of its packets."""
    text, packets, first, at = "", [], 0, 0

    def section_of_packets() -> str:
        return _row(b"".join(packets), f"packets from {first + 1}, {len(packets)}") if packets else ""

    while at < len(data):
        kind, length = struct.unpack_from("<II", data, at)
        block = data[at : at + length]
        at += length
        if kind == 6:  # a packet with its comment
            packets.append(block)
            if len(packets) == PACKETS_OF_A_SECTION:
                text += section_of_packets()
                first, packets = first + len(packets), []
            continue
        fixed = {0x0A0D0D0A: 24, 1: 16}.get(kind)
        if fixed is None:
            text += _row(block, f"block of type {kind}")
            continue
        text += f"block of type {kind}: {block[8:fixed].hex()}\n"
        for code, value in _options(block[fixed:-4]):
            option = masks.text(value.decode("utf-8", "surrogateescape"))
            kept = option if len(option) <= TEXT_OF_AN_OPTION else _row(option, "").strip()
            text += f"    option {code}: {kept!r}\n"
    return text + section_of_packets()


def kept(name: str, data: bytes, masks: Masks) -> tuple[str, str]:
    """The name under which a document is kept, and the text of it."""
    if name.endswith(".pcapng"):
        return name + ".hashes", _capture(data, masks)
    try:
        text = masks.text(data.decode("utf-8"))
    except UnicodeDecodeError:
        return name + ".hashes", _row(data, "the whole file")
    if name.endswith(".html"):
        text = _without_looks(text)
    # of a sheet the same words are kept as Markdown
    most = 0 if name.endswith("_sheet.html") else JSON_WHOLE_MAX if name.endswith(".json") else WHOLE_MAX
    if len(text.encode()) <= most:
        return name, text
    if name.endswith(".json"):
        sections = _sections_of_json(text)
    elif name.endswith(".html"):
        sections = _sections_of_html(text)
    else:
        sections = _sections_of_lines(text)
    return name + ".hashes", _row(text, "the whole text, by its sections:") + "".join(sections)
