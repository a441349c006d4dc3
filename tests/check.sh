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
# The journeys run alone: a browser that shares its cores with other tests waits for what has not been drawn yet.
"$venv/bin/pytest" --ignore=tests/journeys --numprocesses=auto --dist=loadfile
"$venv/bin/pytest" tests/journeys
