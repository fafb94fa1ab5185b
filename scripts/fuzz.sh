#!/usr/bin/env bash
# Runs every fuzz test of the module for the given time, one after the other.
set -euo pipefail
grep -rn --include='*_test.go' -o '^func Fuzz[A-Za-z0-9_]*' . | while IFS=: read -r file _ name; do
	name=${name#func }
	printf '== %s in %s\n' "$name" "$(dirname "$file")"
	go test -run '^$' -fuzz "^$name\$" -fuzztime "${1:-20s}" -fuzzminimizetime 5x "$(dirname "$file")" </dev/null
done
