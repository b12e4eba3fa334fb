"""Holds the number of the model against the golden fingerprints: whoever changes one raises sim::model_number by hand, so
that stores of campaigns of before and after are not joined.

    models.py compare    status 1 if a fingerprint that stands in models.txt is another one, or one does not stand there
    models.py keep       writes models.txt anew; refuses while a fingerprint changed and the number did not

models.txt: the number, then for each kept fingerprint of a run or a campaign its file and its value.
"""

import re
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
NUMBER = HERE.parents[1] / "sim/drive/model_number.hpp"
KEPT = HERE / "models.txt"


def number_now() -> int:
    found = re.search(r"model_number = (\d+);", NUMBER.read_text(encoding="utf-8"))
    if not found:
        sys.exit(f"{NUMBER}: no model_number")
    return int(found[1])


def fingerprints_now() -> dict[str, str]:
    return {
        path.relative_to(HERE).as_posix(): " ".join(path.read_text(encoding="utf-8").split())
        for path in sorted(HERE.rglob("*digest"))
    }


def kept() -> tuple[int, dict[str, str]]:
    if not KEPT.exists():
        return 0, {}
    first, *lines = KEPT.read_text(encoding="utf-8").splitlines()
    return int(first.split()[1]), dict(line.split(" ", 1) for line in lines)


def main() -> None:
    keep = sys.argv[1:] == ["keep"]
    if not keep and sys.argv[1:] != ["compare"]:
        sys.exit(__doc__)
    number, now = number_now(), fingerprints_now()
    before_number, before = kept()
    changed = [name for name, value in now.items() if before.get(name, value) != value]
    if changed and number == before_number:
        sys.exit(
            f"models: {len(changed)} fingerprints are others than model {number} has them, first {changed[0]}.\n"
            f"If that is meant: raise model_number in {NUMBER.relative_to(HERE.parents[1])}, then tests/golden/renew --all"
        )
    if number < before_number:
        sys.exit(f"models: model {number} was there before {before_number}; numbers only rise")
    if keep:
        KEPT.write_text(f"model {number}\n" + "".join(f"{name} {value}\n" for name, value in now.items()), encoding="utf-8")
    elif number != before_number or now.keys() != before.keys():
        sys.exit("models: models.txt is of another number or of other cases; tests/golden/renew --all")
    else:
        print(f"model {number}: {len(now)} fingerprints as they were")


main()
