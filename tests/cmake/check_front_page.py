"""README.md is a front page, and every page of documentation is reached from it by links that lead somewhere.

At most 160 lines and 3 pictures; opens with the job and what the program is not; names the state of the licence. Each
link of a page leads to a file, and to a heading of it where it names one.
"""

import re
from pathlib import Path

from sources import finish, git_files, source_root

MOST_LINES = 160
MOST_PICTURES = 3
OPENS_WITH = "# linkdrill\n\nlinkdrill rehearses a safety link on a desk, "
SAYS = (
    "**What it is not.** linkdrill is no certified tool and no safety device.",
    "local codes, the makers' manuals and licensed practice",
    "has not chosen a licence yet: until then nobody may copy, change or hand it on",
)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")


def without_blocks(text: str) -> str:
    return re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)


def anchors_of(page: Path) -> set[str]:
    """As a forge makes them of headings: small letters, no marks, hyphens for blanks."""
    headings = re.findall(r"^#+ +(.*?)\s*$", without_blocks(page.read_text()), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def front_page(text: str) -> list[str]:
    problems = []
    lines, pictures = len(text.splitlines()), len(re.findall(r"!\[", text))
    if lines > MOST_LINES:
        problems.append(f"README.md: {lines} lines, at most {MOST_LINES}: move it to the page beside what it is of")
    if pictures > MOST_PICTURES:
        problems.append(f"README.md: {pictures} pictures, at most {MOST_PICTURES}")
    if not text.startswith(OPENS_WITH):
        problems.append("README.md: does not open with what the program is for")
    flowing = " ".join(text.split())
    return problems + [f"README.md: does not say: {words}" for words in SAYS if words not in flowing]


def links_of(page: Path, root: Path, problems: list[str]) -> set[Path]:
    """The files that the page leads to; what leads nowhere is a problem."""
    reached = set()
    for link in LINK.findall(without_blocks(page.read_text())):
        if re.match(r"[a-z]+:", link):
            continue
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        where = f"{page.relative_to(root)}: {link}"
        if not target.is_relative_to(root) or not target.exists():
            problems.append(f"{where}: is not there")
        elif anchor and anchor not in (anchors_of(target) if target.suffix == ".md" else set()):
            problems.append(f"{where}: no such heading")
        else:
            reached.add(target)
    return reached


def main() -> None:
    root = source_root()
    names = git_files(root) or [str(p.relative_to(root)) for p in root.rglob("*.md")]
    pages = {root / n for n in names if n.endswith(".md") and not n.startswith(("build", "linkdrill-out/", "tests/"))}
    problems = front_page((root / "README.md").read_text())
    leads_to = {page: links_of(page, root, problems) for page in sorted(pages) if page.is_file()}
    reached, todo = set(), [root / "README.md"]
    while todo:
        page = todo.pop()
        if page not in reached:
            reached.add(page)
            todo += [target for target in leads_to.get(page, ()) if target.suffix == ".md"]
    problems += [f"{page.relative_to(root)}: no page that README.md leads to links to it" for page in leads_to if page not in reached]
    finish(problems, len(leads_to), "pages of documentation")


main()
