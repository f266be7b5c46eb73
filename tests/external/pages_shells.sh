#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The completions in a real bash and a real zsh: what they offer is what --help lists.
# Usage: pages_shells.sh BUILD_DIR. Leaves out a shell that is not installed, and says so.
set -eu

tree=$(CDPATH='' cd -- "$(dirname -- "$0")/../.." && pwd)
build=${1:?usage: pages_shells.sh BUILD_DIR}
build=$(CDPATH='' cd -- "$build" && pwd)
work=$build/pages_shells
failed=0

cmake --build "$build" --target pelletd >/dev/null
rm -rf "$work"
mkdir -p "$work/files/folder"
: >"$work/files/one.csv"
PATH=$build:$PATH
export PATH

same() { # WHAT WANTED FOUND
    if [ "$2" != "$3" ]; then
        echo "pages_shells: $1: wanted '$2', found '$3'"
        failed=1
    fi
}

words() {
    sort -u | tr '\n' ' '
}

commands=$(pelletd --help | sed -n '/^Commands:/,/^$/s/^  \([a-z]*\) .*/\1/p')

# Each line of a case: the words typed, the last one being completed; what is to be offered.
cases() {
    (printf '%s\n' "$commands" --help --version) | words | sed 's/^/pelletd \t/'
    echo
    for command in $commands; do
        pelletd "$command" --help | sed -n 's/^  \(--[a-z-]*\) .*/\1/p' | words | sed "s/^/pelletd $command -\t/"
        echo
    done
    printf 'pelletd judge --format \tjson text \n'
    printf 'pelletd judge --rules te\tteaching \n'
    printf 'pelletd judge --out \tfolder \n'
    printf 'pelletd judge --jobs \t\n'
    printf 'pelletd judge --again o\tone.csv \n'
    printf 'pelletd demo \tfolder \n'
    printf 'pelletd rules rou\troutine \n'
}

cases | grep . >"$work/cases"

# shellcheck disable=SC2317 # called by name
in_bash() {
    cd "$work/files" && bash -c '
        . "$1"
        read -ra COMP_WORDS <<<"$2"
        case $2 in *" ") COMP_WORDS+=("") ;; esac
        COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
        _pelletd pelletd "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
        printf "%s\n" "${COMPREPLY[@]}"' bash "$tree/config/completions/pelletd.bash" "$1" | words
}

# shellcheck disable=SC2317 # called by name
# The functions that would show the candidates are replaced by ones that print them.
in_zsh() {
    cd "$work/files" && zsh -f -c '
        fpath=($1 $fpath)
        zmodload zsh/zutil
        offer() { local w; for w in $@; do [[ $w == $PREFIX* ]] && print -r -- $w; done; return 0 }
        compadd() { while [[ $1 != -- ]]; do shift; done; shift; offer $@ }
        _describe() { while [[ $1 == -* ]]; do shift 2; done; [[ $# -eq 1 ]] || shift; local -a l; l=(${(P)1}); offer ${l%%:*} }
        _files() { if [[ ${1:-} == -/ ]]; then offer *(/N); else offer *(N); fi }
        _call_program() { shift; eval $* }
        words=(${=2})
        [[ $2 == *" " ]] && words+=("")
        CURRENT=$#words PREFIX=$words[-1]
        autoload -Uz _pelletd
        _pelletd' zsh "$tree/config/completions" "$1" | grep . | words
}

try_all() { # SHELL
    while IFS="$(printf '\t')" read -r typed wanted; do
        same "$1: $typed" "$(printf '%s' "$wanted" | tr ' ' '\n' | grep . | words)" "$("in_$1" "$typed" | sed 's/^ $//')"
    done <"$work/cases"
    echo "pages_shells: $1 has completed $(wc -l <"$work/cases") lines"
}

for shell in bash zsh; do
    if command -v "$shell" >/dev/null 2>&1; then
        try_all "$shell"
    else
        echo "pages_shells: left out: $shell is not installed"
    fi
done

# And through zsh's own machinery, at a prompt.
if command -v zsh >/dev/null 2>&1; then
    shown=$(TERM=dumb timeout 60 zsh -f "$tree/tests/external/pages_prompt.zsh" "$tree/config/completions" "$work" || true)
    case $shown in
    *"$(pelletd --version)"*) echo "pages_shells: zsh has completed 'pelletd jud' at its prompt" ;;
    *) same "zsh at its prompt" "judge --version" "$shown" ;;
    esac
fi
exit "$failed"
