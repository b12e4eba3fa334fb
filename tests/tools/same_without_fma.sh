#!/usr/bin/env bash
# The same digest whether the processor's fused multiply-add is used by the C library or not: no value of exp, log or erfc
# of the library may reach a table. Where the library knows none of the switches, they do nothing and the test says little.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

without="glibc.cpu.hwcaps=-FMA,-FMA4,-AVX2,-AVX2_Usable,-FMA_Usable"
mkdir profiles
cp "$SOURCE"/scenarios/profiles/*.toml profiles/
# digest DELAY [SEED]: of a short run of the good scenario with that delay on both ways and losses in bursts.
digest() {
    sed -e "s|^delay = {.*|delay = $1\nloss = { good_to_bad = 0.001, bad_to_good = 0.5 }|" -e "s|^seed = .*|seed = ${2:-5}|" "$good" >run.toml
    "$LINKDRILL" run run.toml --json 2>err | sed -n 's/.*"digest": *"\(0x[0-9A-F]*\)".*/\1/p'
}
for delay in '{ shape = "normal", mean = "1 ms", deviation = "0.2 ms" }' \
    '{ shape = "lognormal", offset = "0.2 ms", median = "0.3 ms", sigma = 0.4 }' \
    '{ shape = "gamma", offset = "0.1 ms", mean = "0.4 ms", alpha = 1.7 }' \
    '{ preset = "wifi-busy" }'; do
    with=$(digest "$delay")
    [ -n "$with" ] || fail "no digest with $delay: $(cat err)"
    [ "$with" != "$(digest "$delay" 6)" ] || fail "the digest does not depend on the draws: $delay"
    [ "$with" = "$(GLIBC_TUNABLES=$without digest "$delay")" ] || fail "another digest without fused multiply-add: $delay"
done
finish
