#!/usr/bin/env bash
# Memory of many shifts: the peak of resident memory at few and at many shifts, and what a shift adds, in bytes.
# Usage: benches/memory.sh [MODEL [HOURS [FEW MANY]]]
#        a model of models/ (alder-hill-mince), hours of a shift and of its warm-up (the model's shift, 1 h), and counts
#        (100 10000). Short shifts keep nearly as much as long ones: what is kept does not grow with their length, but
#        rare reasons of stops do not occur in all of them.
set -euo pipefail
cd "$(dirname "$0")/.."
model=models/${1:-alder-hill-mince}.json
hours=${2:-}
few=${3:-100} many=${4:-10000}
time=$(type -P time) || { echo "missing: time (the program, not the shell's word; Debian's package time)" >&2; exit 1; }
length=()
[ -z "$hours" ] || length=(--hours "$hours" --warm-up "$hours h")

cargo build --locked --release --quiet -p linewake-cli
program=${CARGO_TARGET_DIR:-target}/release/linewake
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# Prints the peak in kilobytes (of 1,024 bytes) and the runs that were made.
peak() { # arguments of linewake
  local runs
  "$time" -o "$scratch/used" -f %M "$program" "$@" --seed 1 --quiet "${length[@]}" --out "$scratch/out" --force >/dev/null
  # A journal has a head and a line for each run; `run` keeps none.
  runs=$(grep -c '' "$scratch/out/journal.jsonl" 2>/dev/null || true)
  echo "$(tail -n 1 "$scratch/used") $((${runs:-0} > 0 ? runs - 1 : 0))"
  rm -rf "$scratch/out"
}
row() { # words, then the command with SHIFTS for the number of shifts
  local words=$1 designs at_few at_many few_runs many_runs
  shift
  # A study runs each of its designs so often: how many there are, two shifts of each tell.
  read -r _ designs <<<"$(peak "${@//SHIFTS/2}")"
  designs=$((designs > 0 ? designs / 2 : 1))
  read -r at_few few_runs <<<"$(peak "${@//SHIFTS/$(((few + designs - 1) / designs))}")"
  read -r at_many many_runs <<<"$(peak "${@//SHIFTS/$(((many + designs - 1) / designs))}")"
  [ "$many_runs" -gt 0 ] || few_runs=$few many_runs=$many
  echo "$words: $at_few kB at $few_runs shifts, $at_many kB at $many_runs:" \
    "$(((at_many - at_few) * 1024 / (many_runs - few_runs))) bytes a shift"
}
row "study compare, two models" study compare "$model" models/alder-hill-mince-feedback.json --shifts SHIFTS
row "study losses, one station" study losses "$model" --station former --shifts SHIFTS
row "run" run "$model" --shifts SHIFTS
