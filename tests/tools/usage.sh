#!/usr/bin/env bash
# Exit statuses, help, and what wrong usage says.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0
[ "$(wc -l <out)" = 3 ] || fail "without arguments not three lines"
run 0 --version
grep -Eq '^linkdrill [0-9]+\.[0-9]+\.[0-9]+$' out && grep -Eq '^model [0-9]+, made by linkdrill .*, kernel [A-Za-z0-9-]+, ' out || fail "--version: $(cat out)"
run 0 --help
grep -q '^Use these first$' out || fail "--help lacks its first group"
for command in check run residual crc; do
    grep -q "^  $command" out || fail "--help lacks $command"
    run 0 "$command" --help
    grep -q "^Example:  linkdrill $command " out || fail "$command --help lacks an example"
    # a worked line is one line however long its folder is called
    [ "$(grep -vE '^(First|Example): ' out | wc -L)" -le 100 ] || fail "$command --help is too wide"
    run 0 --help
done

# All commands: each has its help, an example and a row in the table of commands.
run 0 --help
sed -n 's/^  \([a-z][a-z]*\) .*/\1/p' out >commands
[ "$(wc -l <commands)" -ge 18 ] || fail "only these commands: $(cat commands)"
while IFS= read -r command; do
    run 0 help "$command"
    grep -q "^Example:  linkdrill $command\b" out || fail "help $command lacks an example"
    cp out by_word && run 0 "$command" --help && cmp -s out by_word || fail "help $command is not $command --help"
    grep -qE "^\| (.*, )?\`$command( [^\`]*)?\`" "$SOURCE/tools/program/README.md" ||
        fail "tools/program/README.md does not list $command"
done <commands
run 0 help;    cp out by_word; run 0 --help;    cmp -s out by_word || fail "help is not --help"
for word in version -V; do run 0 $word; cp out by_word; run 0 --version; cmp -s out by_word || fail "$word is not --version"; done
run 2 help rnu;                          one_line '"rnu" is no command; did you mean "run"'
for words in "crc CRC-32/ISCSI --text a" "decode x" "distance" "report x" "completion bash" "help" "version" "examples x" train; do
    for option in "--seed 1" "--out x" "--jobs 1"; do
        # shellcheck disable=SC2086 # several words
        run 2 $words $option;            one_line "^linkdrill: ${option% *}: does nothing in ${words%% *}; leave it out"
    done
done
run 2 check "$good" --seed 1;            one_line '^linkdrill: --seed: does nothing in check'
run 2 response "$good" --seed 1;         one_line '^linkdrill: --seed: does nothing in response'

run 0 check "$good"
run 1 check "$differ"
run 0 check "$profile"
run 0 run "$good" --out good
run 1 run "$differ" --out differ
run 0 crc CRC-32/ISCSI --text 123456789
run 0 crc --list

run 2 rnu "$good";                       one_line 'unknown command "rnu"; did you mean "run"'
run 2 run "$good" --sed 3;               one_line 'unknown option "--sed" of run; did you mean "--seed"'
run 2 --jsn;                             one_line 'unknown option "--jsn"; did you mean "--json"'
run 2 run;                               one_line 'FILE is missing'
run 2 run "$good" more;                  one_line '"more" is one argument too many'
for seed in -1 18446744073709551616 1.5 0x10 ' 7' 7x ''; do
    run 2 run "$good" --seed "$seed";    one_line '^linkdrill: --seed: '
done
run 2 run "$good" --seed;                one_line '^linkdrill: --seed: its value is missing'
run 2 run "$good" --seed 1 --seed 2;     one_line '^linkdrill: --seed: typed twice'
run 2 run "$good" --json=false;          one_line '^linkdrill: --json: takes no value'
run 2 run "$good" --jobs 0;              one_line '^linkdrill: --jobs: '
run 2 run "$good" --out '';              one_line '^linkdrill: --out: '
run 2 run none.toml;                     one_line '^none.toml: '
run 2 check none.toml;                   one_line '^none.toml: '
run 2 run "$profile";                    one_line 'is a telegram profile'
run 2 run $'bad\nname\e[31m.toml';       one_line '^bad'
grep -q $'\e' err && fail "an escape character of a file name came through"
run 2 crc CRC-32/ISCSY --text a;         one_line 'did you mean CRC-32/ISCSI'
run 2 crc CRC-32/ISCSI;                  one_line '^linkdrill: --hex: missing'
run 2 crc CRC-32/ISCSI --hex 313;        one_line '^linkdrill: --hex: '
run 2 crc CRC-32/ISCSI --text a --hex 31; one_line '^linkdrill: --hex: '
run 2 crc --width 16 --polynomial 0x1021 --hex 31; one_line '^linkdrill: --initial: missing'
run 2 crc --width 16 --polynomial 0x11021 --initial 0x0 --final-xor 0x0 --hex 31; one_line '^linkdrill: --polynomial: '

# Common options may stand before the command, and everything after -- is a name.
run 0 --seed 7 --quiet run "$good" --out good
[ "$(wc -l <out)" = 1 ] || fail "--quiet printed more than a line"
run 2 run -- --json;                     one_line '^--json: '

# The seed decides, the clock does not.
run 0 run "$good" --seed 5 --out five --json; cp out first
run 0 run "$good" --seed 5 --out five --json
cmp -s out first || fail "twice the same seed, two results"

# CRC values: the check values of the public CRC catalogue, over "123456789".
value_of() { "$LINKDRILL" crc "$@" | cut -d' ' -f1; }
[ "$(value_of CRC-32/ISCSI --text 123456789)" = 0xE3069283 ] || fail "CRC-32/ISCSI"
[ "$(value_of CRC-32/ISCSI --hex '31 32 33 34 35 36 37 38 39')" = 0xE3069283 ] || fail "CRC-32/ISCSI from hex"
[ "$(value_of --width 16 --polynomial 0x1021 --initial 0xFFFF --final-xor 0x0 --text 123456789)" = 0x29B1 ] || fail "16 bits"
[ "$(value_of --width 16 --polynomial 0x8005 --initial 0x0 --reflect-in --reflect-out --final-xor 0x0 --text 123456789)" = 0xBB3D ] ||
    fail "16 bits reflected"

# --log appends, --verbose talks on standard error only.
run 0 run "$good" --out good --log log.txt --verbose
[ -s log.txt ] && [ -s err ] || fail "no log"
lines=$(wc -l <log.txt)
run 0 run "$good" --out good --log log.txt
[ "$(wc -l <log.txt)" -gt "$lines" ] || fail "--log did not append"
finish
