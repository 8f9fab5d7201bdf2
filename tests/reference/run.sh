#!/usr/bin/env bash
# Tries the checker, then judges every script in scripts/ and every plan beside it as a perpend binary lays them.
# usage: tests/reference/run.sh PERPEND
set -euo pipefail

if [ $# -ne 1 ] || [ ! -x "$1" ]; then
    echo "usage: $0 PERPEND (an executable)" >&2
    exit 2
fi
perpend=$(realpath "$1")
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
scripts=$here/../../scripts
venv=$here/.venv

if ! [ -x "$venv/bin/python" ]; then
    python3 -m venv "$venv"
fi
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check -r "$here/requirements.txt"

"$venv/bin/python" "$here/self_test.py"

laid=$(mktemp -d)
trap 'rm -rf "$laid"' EXIT

shopt -s nullglob
files=("$scripts"/*.rhai "$here"/plans/*.rhai)
if [ ${#files[@]} -eq 0 ]; then
    echo "no scripts to lay" >&2
    exit 1
fi

unlaid=0
outputs=()
for file in "${files[@]}"; do
    name=$(basename "$file" .rhai)
    status=0
    "$perpend" lay "$file" --format json >"$laid/$name.json" || status=$?
    # 1 says that a check of the plan fails; its work is laid all the same.
    if [ "$status" -gt 1 ] || [ ! -s "$laid/$name.json" ]; then
        echo "FAILED  $name  not laid, exit code $status"
        unlaid=$((unlaid + 1))
    fi
    outputs+=("$laid/$name.json")
done

# What was not laid is judged too: an empty file fails, so the last line counts every script.
status=0
"$venv/bin/python" "$here/check_laid.py" "${outputs[@]}" || status=1
[ "$unlaid" -eq 0 ] || status=1

# Small problems with our answers, against integer programmes.
mkdir "$laid/cases"
PERPEND_CASES=$laid/cases cargo test --quiet --manifest-path "$here/../../Cargo.toml" --test reference_cases --test reference_plans integer_programmes
"$venv/bin/python" "$here/programmes.py" "$laid/cases" "$laid" || status=1
exit "$status"
