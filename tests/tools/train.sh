#!/usr/bin/env bash
# The training's server before clients that mean no good, its end by Ctrl-C, and what it keeps.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
run 2 train --listen nowhere
run 2 train --port 70000
/usr/bin/python3 -B "$SOURCE/tests/tools/hostile_client.py" "$LINKDRILL" "$SOURCE" >hostile.txt 2>&1 ||
    fail "before hostile clients: $(tail -n 12 hostile.txt)"
/usr/bin/python3 -B "$SOURCE/tests/tools/train_again.py" "$LINKDRILL" >again.txt 2>&1 ||
    fail "ended and begun again: $(tail -n 12 again.txt)"
/usr/bin/python3 -B "$SOURCE/tests/tools/train_chain.py" "$LINKDRILL" >chain.txt 2>&1 ||
    fail "the chain of records: $(tail -n 12 chain.txt)"
finish
