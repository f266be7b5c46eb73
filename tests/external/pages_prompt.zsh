# SPDX-License-Identifier: GPL-3.0-or-later
# For pages_shells.sh: types `pelletd jud`, a tab and `--version` at the prompt of a real zsh and shows what came.
# Arguments: the folder of the completions, a folder to work in.
zmodload zsh/zpty
zpty -b shell zsh -f -i
zpty -w shell "PS1='> '; fpath=($1 \$fpath); autoload -Uz compinit; compinit -u -d $2/dump; print rea''dy"
zpty -r -m shell line "*ready*"
zpty -w -n shell $'pelletd jud\t'
zpty -r -m shell line "*ge *"
zpty -w -n shell $'--version\nprint don\'\'e\n'
zpty -r -m shell line "*done*"
print -r -- $line
zpty -d shell
