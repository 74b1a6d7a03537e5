#!/usr/bin/env bash
# Sets up the Python that outside solvers are asked through, in target/python. Fails where its packages cannot be had.
set -euo pipefail

wanted=tests/reference/requirements.txt
if ! python3 -c 'import ensurepip, venv' 2>/dev/null; then
    tools/packages.sh python3-venv || true
fi
if ! cmp -s "$wanted" target/python/installed.txt; then
    if ! { python3 -m venv target/python && target/python/bin/python -m pip install --quiet --requirement "$wanted"; }; then
        echo "NOT CHECKED against outside solvers: the Python packages of $wanted cannot be installed here." >&2
        exit 1
    fi
    cp "$wanted" target/python/installed.txt
fi
