#!/usr/bin/env bash
# Fifty wrong files, each a good scenario with one mistake of a person in it, and what is said of it, word by word.
exec /usr/bin/python3 -B "$(dirname -- "${BASH_SOURCE[0]}")/wrong_files.py" "$@"
