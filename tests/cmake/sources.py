"""What the checks beside this file share: which files there are, and C++ text without comments and strings."""

import re
import subprocess
import sys
from pathlib import Path


def source_root() -> Path:
    """The first argument, or the repository that this file lies in."""
    return Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else Path(__file__).resolve().parents[2]


def cpp_files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.suffix in (".cpp", ".hpp"))


_COMMENT_OR_LITERAL = re.compile(
    r'//[^\n]*|/\*.*?\*/|R"(?P<mark>[^()\s]*)\(.*?\)(?P=mark)"|"(?:\\.|[^"\\\n])*"|(?<!\w)\'(?:\\.|[^\'\\\n])+\'', re.DOTALL
)


def code_only(text: str) -> str:
    """The text with comments and the contents of literals blanked out; line numbers stay, and so do includes."""

    def blank(match: re.Match) -> str:
        line_before = text[text.rfind("\n", 0, match.start()) + 1 : match.start()]
        if re.fullmatch(r"\s*#\s*include\s*", line_before):
            return match.group()
        return re.sub(r"[^\n]", " ", match.group())

    return _COMMENT_OR_LITERAL.sub(blank, text)


def git_files(root: Path) -> list[str] | None:
    """Tracked files and new ones that are not ignored; None where there is no usable git or repository."""
    try:
        command = ["git", "-C", str(root), "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
        listing = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        top = subprocess.run(
            ["git", "-C", str(root), "rev-parse", "--show-toplevel"], capture_output=True, text=True, check=True
        ).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return None
    return [f for f in listing.split("\0") if f] if Path(top).resolve() == root else None


def finish(problems: list[str], checked: int, what: str) -> None:
    """Prints the problems and ends with status 1, also when there was nothing to check."""
    for problem in problems:
        print(problem)
    if checked == 0:
        print(f"no {what} found: nothing was checked")
    if problems or checked == 0:
        sys.exit(1)
    print(f"{checked} {what} checked, no problem")
