# make demo       design the sample campus and say where to look
# make test       everything that must hold before a change goes in
# make reference  compare a finished design with outside programs: hydraulic solver, browser, GIS; recount its take-off
# make faults     plant faults in a hundred surveyed systems and count what an audit finds
# make bench      time the design of growing parcels
#
# Cargo does the work; this file only strings its commands together.

SHELL := /usr/bin/env bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := demo
.PHONY: demo test reference faults bench packages rust build

DEMO := out/demo

demo: build
	status=0; target/release/swardline design sample-parcels/project.toml --out $(DEMO) || status=$$?; \
	[ $$status -le 1 ] || exit $$status; \
	tools/summary.sh $(DEMO); \
	exit $$status

test: packages rust
	tools/python.sh || true
	cargo fmt --check
	cargo clippy --locked --all-targets -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --locked --no-deps
	tools/deny.sh
	cargo test --locked

reference: build
	tools/reference.sh

faults: packages rust
	cargo test --locked --release --test surveyed -- --ignored --nocapture --skip designs_on_random_ground

bench: packages rust
	cargo bench --locked

build: packages rust
	cargo build --release --locked

packages:
	@tools/packages.sh

rust:
	@command -v cargo >/dev/null || { echo "Rust is missing: see https://rustup.rs" >&2; exit 1; }
