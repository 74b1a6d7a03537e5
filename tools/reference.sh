#!/usr/bin/env bash
# Designs the sample campus and solves every station again with EPANET. Python packages go into target/python.
set -euo pipefail

out=out/reference
python=target/python/bin/python
wanted=tests/reference/requirements.txt

if ! python3 -c 'import ensurepip, venv' 2>/dev/null; then
    tools/packages.sh python3-venv || true
fi
if ! cmp -s "$wanted" target/python/installed.txt; then
    if ! { python3 -m venv target/python && "$python" -m pip install --quiet --requirement "$wanted"; }; then
        echo "NOT CHECKED: agreement with EPANET. The Python packages of $wanted cannot be installed here."
        exit 0
    fi
    cp "$wanted" target/python/installed.txt
fi

# Parcels that fail are no matter here; their stations are not there to be compared.
status=0
target/release/swardline design sample-parcels/project.toml --out "$out" --quiet || status=$?
[ "$status" -le 1 ] || exit "$status"
"$python" tests/reference/epanet_check.py "$out"
