# For the tests of campaign: sourced after common.bash.
lift=$SOURCE/scenarios/stage_lift/creeping_delay.toml
export PYTHONPATH=$SOURCE/tests/tools PYTHONDONTWRITEBYTECODE=1

# alter FILE SQL...: a store altered by another program; sealed FILE SQL...: with its checks made anew.
alter() { /usr/bin/python3 -c 'import store_checks, sys; store_checks.alter(*sys.argv[1:])' "$@" || fail "alter $*"; }
sealed() { /usr/bin/python3 -c 'import store_checks, sys; store_checks.alter_and_seal(*sys.argv[1:])' "$@" || fail "sealed $*"; }
# holds FILE: what the store says of itself is what its rows come to, reckoned by others.
holds() { /usr/bin/python3 -c 'import store_checks, sys; sys.exit(not store_checks.holds(sys.argv[1]))' "$1" || fail "the checks of $1"; }
# one_file FILE: it is all that is left, and can be read from anywhere.
one_file() {
    [ "$(ls "$1"*)" = "$1" ] || fail "more than one file is left: $(ls "$1"*)"
    [ "$(od -An -tu1 -j18 -N2 "$1")" = "   1   1" ] || fail "$1 cannot be read where nothing may be written"
}
