#!/bin/sh
# Fills today's payday, if today is one. For a crontab, every morning:
#   0 8 * * *  CASHEVENTS_URL=http://127.0.0.1:5080 CASHEVENTS_KEY=... /path/to/payday.sh
# The key is a script's that lists `fill`. Run again on the same day it fills nothing more: the idempotency key is the day.
set -eu
ask() { curl -sS --fail-with-body -H "Authorization: Bearer $CASHEVENTS_KEY" "$@"; }
today=$(ask "$CASHEVENTS_URL/api/today")
day=$(printf '%s' "$today" | sed -E 's/.*"date": ?"([0-9-]+)".*/\1/')
case $today in
  *"\"nextPayday\":\"$day\""* | *"\"nextPayday\": \"$day\""*) ;;
  *) echo "$day is no payday, or is filled."; exit 0 ;;
esac
ask -H "Idempotency-Key: payday-$day" -H 'Content-Type: application/json' -d "{\"payday\": \"$day\"}" "$CASHEVENTS_URL/api/fill-runs"
