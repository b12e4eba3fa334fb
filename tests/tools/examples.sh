#!/usr/bin/env bash
# linkdrill examples: all or nothing, into a new folder only, and the copies can be altered.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 examples mine
diff -r "$SOURCE/scenarios" mine >difference || fail "not the same: $(cat difference)"
run 0 run mine/veneer_press/all_errors.toml --out one --quiet
run 2 examples mine;  one_line '^mine: is not empty'
mkdir empty && run 0 examples empty/
[ -s empty/README.md ] || fail "an empty folder was not filled"
run 0 examples deep/er/mine
echo text >file
run 2 examples file;  one_line '^file: is there and no folder'
ln -s nowhere link
run 2 examples link;  one_line '^link: is there'
for name in . .. / ''; do run 2 examples "$name"; one_line '^linkdrill: DIR: write the name of a new folder'; done
run 2 examples;       one_line 'DIR is missing'
run 2 examples a b;   one_line 'one argument too many'

# Originals that may not be written make copies that may; hidden files stay.
mkdir -p own/scenarios/profiles && cp "$profile" own/scenarios/profiles && echo x >own/scenarios/.hidden
chmod 0444 own/scenarios/profiles/*
LINKDRILL_DATA=own run 0 examples writable --json
[ "$(stat -c %a writable/profiles/crc32_carried.toml)" = "$(printf '%o' $((0666 & ~0$(umask))))" ] || fail "rights of a copy"
[ -e writable/.hidden ] && fail "a hidden file was copied"
/usr/bin/python3 -c 'import json; d = json.load(open("out")); assert d["files"] == ["writable/profiles/crc32_carried.toml"], d' ||
    fail "--json: $(cat out)"
LINKDRILL_DATA=own run 0 examples own/scenarios/copy
[ -e own/scenarios/copy/copy ] && fail "the copy was copied"

# What cannot be written leaves nothing.
run 3 examples /proc/mine;  one_line '^/proc/mine'
chmod 0555 empty
if ! touch empty/try 2>/dev/null; then run 3 examples empty/mine; fi
chmod 0755 empty
status=0
(ulimit -f 1; "$LINKDRILL" examples short) >out 2>err || status=$?
[ "$status" = 3 ] || [ "$status" = 153 ] || fail "a file too big: status $status, $(cat err)"
[ "$status" != 3 ] || one_line 'short'
[ ! -e short ] || fail "half a copy was left"
[ "$status" != 3 ] || [ -z "$(ls -d short.unfinished* 2>/dev/null)" ] || fail "an unfinished copy was left"
finish
