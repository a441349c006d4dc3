#!/usr/bin/env bash
# Every check of the project, in its own virtual environment. Safe to run twice.
set -euo pipefail
cd "$(dirname "$0")/.."

venv=.venv-check
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --editable '.[check]'

"$venv/bin/ruff" format --check .
"$venv/bin/ruff" check .
"$venv/bin/mypy"
"$venv/bin/lint-imports"
"$venv/bin/pytest" --ignore=tests/journeys --numprocesses=auto --dist=loadfile
# The journeys run alone, for a browser that shares its cores with other tests is slow to draw. One that fails is tried a
# second time and counted as "rerun" in the last line: what fails twice fails, what needed two tries wants looking at.
"$venv/bin/pytest" tests/journeys --reruns=1 --durations=15 -rR
