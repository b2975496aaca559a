#!/bin/sh
# Says when a compartment falls below an amount, as a broker hears it. For a hub, a lamp or a speaker: put its command in
# the place of `echo`.
#   BROKER=127.0.0.1 ./low.sh cashevents/HOUSEHOLD/compartments/ferry-fares 20
set -eu
topic=$1
level=$2
mosquitto_sub -h "${BROKER:-127.0.0.1}" -p "${PORT:-1883}" -t "$topic" | while read -r state; do
  label=$(printf '%s' "$state" | sed -E 's/.*"label":"([^"]*)".*/\1/')
  total=$(printf '%s' "$state" | sed -E 's/.*"total":(-?[0-9.]+).*/\1/')
  if awk -v total="$total" -v level="$level" 'BEGIN { exit !(total < level) }'; then
    [ "${low:-}" = yes ] || echo "$label: $total left, less than $level"
    low=yes
  else
    low=no
  fi
done
