#!/usr/bin/env bash
# Makes sure that what the build needs from the system is there: compiler, GDAL, PROJ, SQLite.
# Installs with apt where that works without asking; otherwise prints the one line to run and ends with 1.
set -euo pipefail

packages=(build-essential pkg-config libgdal-dev libproj-dev libsqlite3-dev "$@")
installed() { dpkg-query -W -f='${Status}' "$1" 2>/dev/null | grep -q 'install ok installed'; }

if ! command -v dpkg-query >/dev/null; then
    echo "This is no Debian or Ubuntu: GDAL 3.6 or newer, PROJ 9, SQLite 3, pkg-config and a C compiler are taken as given." >&2
    exit 0
fi

missing=()
for package in "${packages[@]}"; do
    installed "$package" || missing+=("$package")
done
[ ${#missing[@]} -eq 0 ] && exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
    if ! sudo -n true 2>/dev/null; then
        echo "Some packages are missing. Run this once, then try again:" >&2
        echo "    sudo apt-get update && sudo apt-get install -y ${missing[*]}" >&2
        exit 1
    fi
    as_root=(sudo -n)
fi
echo "installing ${missing[*]}" >&2
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}"
