#!/usr/bin/env bash
# The training's server before clients that mean no good, and its end by Ctrl-C.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
run 2 train --listen nowhere
run 2 train --port 70000
/usr/bin/python3 -B "$SOURCE/tests/tools/hostile_client.py" "$LINKDRILL" "$SOURCE" >hostile.txt 2>&1 ||
    fail "before hostile clients: $(tail -n 12 hostile.txt)"
finish
