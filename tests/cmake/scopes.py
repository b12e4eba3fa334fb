"""Where the classes and functions of a C++ file begin and end, by its braces: for checks that cannot wait for clang."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from sources import code_only


@dataclass
class Scope:
    kind: str  # "names" (a namespace, or the file), "class", "function", "other"
    name: str
    begin: int  # line of the opening brace
    end: int = 0
    methods: int = 0  # of a class: declarations with parentheses in it, methods or not; never fewer than its methods


def without_templates(head: str) -> str:
    """The text without its `template <...>`."""
    while found := re.search(r"\btemplate\s*<", head):
        end, depth = found.end(), 1
        while depth and end < len(head):
            depth += {"<": 1, ">": -1}.get(head[end], 0)
            end += 1
        head = head[: found.start()] + head[end:]
    return head


def opened_by(head: str, within: Scope, function_before: str) -> tuple[str, str]:
    """Kind and name of what a brace opens; `head` is what stands since the last declaration or brace."""
    if within.kind not in ("names", "class"):
        return "other", ""
    # The members of a constructor may be initialised between braces, which then look like a body of their own.
    if function_before and re.match(r"\s*(,|$)", head):
        return "function", function_before
    head = without_templates(head)
    if re.match(r"\s*(inline\s+)?namespace\b|\s*extern\s*$", head):
        return "names", ""
    if found := re.match(r"\s*(?:class|struct|union)\b[^(]*?\b(\w+)(?:\s+final)?\s*(?::[^:].*)?$", head, re.DOTALL):
        return "class", found[1]
    before, parenthesis, _ = re.sub(r"\boperator\s*[^\w\s(]+", "operator", head).partition("(")
    if not parenthesis or "=" in before:
        return "other", ""
    name = re.search(r"([\w:~]+)\s*$", before)
    return "function", name[1] if name else "?"


def scopes_of(text: str) -> Iterator[Scope]:
    """Each class, and each function that is no part of another one."""
    code = re.sub(r"^[ \t]*#(?:.*\\\n)*.*", lambda m: "\n" * m[0].count("\n"), code_only(text), flags=re.MULTILINE)
    scopes, open_parentheses = [Scope("names", "", 0)], [0]
    line, begin, function_before = 1, 0, ""
    for at, sign in enumerate(code):
        if sign == "\n":
            line += 1
        elif sign == "(":
            open_parentheses[-1] += 1
        elif sign == ")":
            open_parentheses[-1] -= 1
        elif sign == "{":
            head = code[begin:at]
            kind, name = opened_by(head, scopes[-1], function_before) if not open_parentheses[-1] else ("other", "")
            scopes[-1].methods += kind == "function" and "(" in head
            scopes.append(Scope(kind, name, line))
            open_parentheses.append(0)
            begin, function_before = at + 1, ""
        elif sign == "}" and len(scopes) > 1:
            scope = scopes.pop()
            open_parentheses.pop()
            if scope.kind in ("class", "function"):
                scope.end = line
                yield scope
            function_before = scope.name if scope.kind == "function" else ""
            begin = at + 1
        elif sign == ";" and not open_parentheses[-1]:
            scopes[-1].methods += "(" in code[begin:at]
            begin, function_before = at + 1, ""
