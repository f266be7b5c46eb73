# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of pelletd for bash. Commands, options and what they take come from the program's own --help, so that
# they cannot differ from it.
# shellcheck shell=bash

# The words that may stand for one of --help's placeholders: PATH, FILE, FOLDER, DIR, NAME|FILE, text|json.
_pelletd_values() {
    local kind=$1 word=$2
    case $kind in
    *NAME*) compgen -W "routine pharmacopoeial teaching" -- "$word" ;;
    *[a-z]\|[a-z]*) compgen -W "${kind//|/ }" -- "$word" ;;
    esac
    case $kind in
    *FILE* | *PATH*) compgen -f -- "$word" ;;
    *FOLDER* | *DIR*) compgen -d -- "$word" ;;
    esac
}

_pelletd() {
    local program=$1 word=$2 previous=$3 help kind candidates

    if [ "$COMP_CWORD" -eq 1 ]; then
        candidates=$("$program" --help 2>/dev/null | sed -n '/^Commands:/,/^$/s/^  \([a-z]*\) .*/\1/p')
        mapfile -t COMPREPLY < <(compgen -W "$candidates --help --version" -- "$word")
        return
    fi
    help=$("$program" "${COMP_WORDS[1]}" --help 2>/dev/null) || return
    # What stands before an = is the option, and = a word of its own.
    if [ "$previous" = = ] && [ "$COMP_CWORD" -gt 2 ]; then
        previous=${COMP_WORDS[COMP_CWORD - 2]}
    elif [ "$word" = = ]; then
        word=
    fi
    kind=$(sed -n "s/^  $previous \([^ ]*\) .*/\1/p" <<<"$help" 2>/dev/null)
    if [ "${previous#--}" != "$previous" ] && [ -n "$kind" ]; then
        mapfile -t COMPREPLY < <(_pelletd_values "$kind" "$word")
    elif [ "${word#-}" != "$word" ]; then
        candidates=$(sed -n 's/^  \(--[a-z-]*\) .*/\1/p' <<<"$help")
        mapfile -t COMPREPLY < <(compgen -W "$candidates" -- "$word")
    else
        kind=$(sed -n '1{s/\[--[^]]*\]//g;s/^pelletd [a-z]* *//;p;}' <<<"$help")
        mapfile -t COMPREPLY < <(_pelletd_values "$kind" "$word")
    fi
}

complete -o filenames -F _pelletd pelletd
