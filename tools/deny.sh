#!/usr/bin/env bash
# Checks licences, sources and known holes of what the build takes in (deny.toml).
# Without cargo-deny: built from crates.io where CI is set, otherwise left out, and said so.
set -euo pipefail

if ! cargo deny --version >/dev/null 2>&1; then
    if [ -z "${CI:-}" ]; then
        echo "NOT CHECKED: licences and known holes of dependencies. cargo-deny is missing (cargo install cargo-deny --locked)."
        exit 0
    fi
    cargo install cargo-deny --locked --root target/tools
    export PATH="$PWD/target/tools/bin:$PATH"
fi

if cargo deny fetch db >/dev/null 2>&1; then
    exec cargo deny --log-level error check
fi
echo "NOT CHECKED: known holes of dependencies. The advisory database cannot be fetched from here; licences, bans and sources are checked."
exec cargo deny --log-level error check licenses bans sources
