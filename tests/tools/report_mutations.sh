#!/usr/bin/env bash
# report on documents that were edited by hand: never an abort.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
/usr/bin/python3 -B "$SOURCE/tests/tools/report_mutations.py" "$LINKDRILL" "$SOURCE" || fail "a bent document"
finish
