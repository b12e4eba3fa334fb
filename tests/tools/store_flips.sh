#!/usr/bin/env bash
# A store of a campaign with a bit altered anywhere: never another result.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
/usr/bin/python3 -B "$SOURCE/tests/tools/store_flips.py" "$LINKDRILL" "$SOURCE" || fail "a bit altered in a store"
finish
