#!/usr/bin/env bash
# Completion in real shells, and the manual page by those who read manuals. A shell that is not there is told and left out.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
ln -s "$LINKDRILL" linkdrill
export PATH=$work:$PATH HOME=$work
mkdir plant && cp "$good" plant/one.toml && cp "$good" 'two words.toml' && echo x >other.txt && echo x >run.pcapng

# expect SHELL LINE WORD...: what is offered for the last word of the line is exactly that
expect() {
    local shell=$1 line=$2 offered
    shift 2
    offered=$(offers_of_"$shell" "$line" | sed 's/ *$//' | sort | paste -sd ,)
    [ "$offered" = "$(printf '%s\n' "$@" | sort | paste -sd ,)" ] || fail "$shell offers for '$line': $offered"
}
expectations() {
    expect "$1" 'linkdrill resp' response
    expect "$1" 'linkdrill --quiet ex' examples
    expect "$1" 'linkdrill run --times' --times-slower
    expect "$1" 'linkdrill distance --edition 20' 2010 2024
    expect "$1" 'linkdrill completion z' zsh
    expect "$1" 'linkdrill help wat' watchdog
    expect "$1" 'linkdrill crc --se'
}

"$LINKDRILL" completion bash >linkdrill.bash
offers_of_bash() {
    bash --norc -c '
        source ./linkdrill.bash
        compopt() { :; }
        read -ra COMP_WORDS <<<"$1"
        [[ $1 != *" " ]] || COMP_WORDS+=("")
        COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
        _linkdrill
        printf "%s\n" "${COMPREPLY[@]}"' - "$1"
}
expectations bash
expect bash 'linkdrill run ' plant 'two words.toml'
expect bash 'linkdrill run plant/' plant/one.toml
expect bash 'linkdrill --seed 7 check tw' 'two words.toml'
expect bash 'linkdrill decode ' plant run.pcapng
expect bash 'linkdrill run x --out ' plant
expect bash 'linkdrill run x --seed '
bash --norc -ic 'source ./linkdrill.bash; complete -p linkdrill' >out 2>/dev/null
grep -qx 'complete -F _linkdrill linkdrill' out || fail "bash was not told of it"

"$LINKDRILL" completion fish >linkdrill.fish
if command -v fish >/dev/null; then
    # shellcheck disable=SC2016 # for fish
    offers_of_fish() { fish --no-config -c 'source linkdrill.fish; complete -C "$argv[1]"' "$1" | cut -f1; }
    expectations fish
    expect fish 'linkdrill run two' 'two words.toml'
else
    echo "not tried: there is no fish"
fi

"$LINKDRILL" completion zsh >_linkdrill
if command -v zsh >/dev/null; then
    # In a terminal of its own, with the function found in this folder: what the line becomes.
    completed_by_zsh() {
        # shellcheck disable=SC2016 # for zsh
        zsh -f -c '
            zmodload zsh/zpty
            zpty shell zsh -f -i
            zpty -w shell "PS1=; fpath=($PWD \$fpath); autoload -Uz compinit; compinit -u -D"
            zpty -w shell "show() { zle complete-word; print -r -- \"<\$BUFFER>\" }; zle -N show; bindkey \"^X\" show"
            zpty -w shell "echo rea\"\"dy"
            zpty -r shell said "*ready*"
            zpty -w -n shell "$1"$'"'\\x18'"'
            zpty -r shell said "*<linkdrill*>*"
            print -r -- $said
            zpty -d shell' - "$1" | tr -d '\r' | sed -n 's/.*<\(linkdrill[^<>]*\)>.*/\1/p' | tail -1
    }
    becomes() { [ "$(completed_by_zsh "$1")" = "$2" ] || fail "zsh makes of '$1': $(completed_by_zsh "$1")"; }
    becomes 'linkdrill resp' 'linkdrill response '
    becomes 'linkdrill --quiet ex' 'linkdrill --quiet examples '
    becomes 'linkdrill run --times' 'linkdrill run --times-slower '
    becomes 'linkdrill distance --edition 202' 'linkdrill distance --edition 2024 '
    becomes 'linkdrill run plant/' 'linkdrill run plant/one.toml '
    becomes 'linkdrill help wat' 'linkdrill help watchdog '
    becomes 'linkdrill crc --se' 'linkdrill crc --se'
else
    echo "not tried: there is no zsh"
fi

"$LINKDRILL" completion man >linkdrill.1
if command -v man >/dev/null; then
    man --warnings --local-file linkdrill.1 >page 2>err || fail "man: $(cat err)"
    [ -s err ] && fail "man warns: $(cat err)"
    grep -q 'LINKDRILL_DATA' page || fail "the manual page lacks the environment"
fi
if command -v mandoc >/dev/null; then
    mandoc -T lint -W warning linkdrill.1 >err || fail "mandoc: $(cat err)"
fi
# Every command and option is in each of them; the version and its day are those of the changelog.
"$LINKDRILL" --help | sed -n 's/^  \([a-z][a-z]*\) .*/\1/p' >commands
[ "$(wc -l <commands)" -ge 18 ] || fail "only these commands: $(cat commands)"
while IFS= read -r command; do
    grep -q "^\.SS \"linkdrill $command" linkdrill.1 || fail "the manual page lacks $command"
    "$LINKDRILL" "$command" --help | sed -n 's/^  --\([a-z-]*\).*/\1/p' >options
    while IFS= read -r option; do
        grep -qF -- "\\-\\-${option//-/\\-}" linkdrill.1 || fail "the manual page lacks --$option"
        grep -q "^        $command:-\*) .*--$option\b" linkdrill.bash || fail "bash: $command lacks --$option"
        grep -q "__fish_seen_subcommand_from $command' -l $option " linkdrill.fish || fail "fish: $command lacks --$option"
        grep -qF -- "'--$option[" _linkdrill || fail "zsh: $command lacks --$option"
    done <options
done <commands
read -r _ version _ <"$SOURCE/tools/packaging/changelog"
[ "$(run 0 --version; head -n 1 out | cut -d' ' -f2)" = "${version//[()]/}" ] || fail "the changelog tells of version $version"
day=$(date -u -d "$(sed -n 's/^ -- .*>  //p' "$SOURCE/tools/packaging/changelog" | head -1)" +%F)
grep -q "^\.TH LINKDRILL 1 $day " linkdrill.1 || fail "the manual page is not of the changelog's day, $day"
finish
