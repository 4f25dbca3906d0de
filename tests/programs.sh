#!/bin/sh
# Programs from outside that some tests drive. On Debian root fetches the missing ones; anywhere else, and when that
# fails, tests/conftest.py says which tests cannot run for want of them (an error where CI=true).
missing=""
command -v ngspice >/dev/null 2>&1 || missing="$missing ngspice"
command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 || missing="$missing chromium fonts-dejavu-core"
[ -e /usr/share/libmysofa/default.sofa ] || missing="$missing libmysofa1"
if [ -z "$missing" ] || [ "$(id -u)" != 0 ] || [ ! -e /etc/debian_version ] || ! command -v apt-get >/dev/null 2>&1; then
    exit 0
fi
echo "installing what some tests drive (once):$missing"
export DEBIAN_FRONTEND=noninteractive
log=$(mktemp)
for step in "update" "install --yes --no-install-recommends $missing"; do
    # shellcheck disable=SC2086  # the words of a step are meant to come apart
    if ! apt-get -qq -o Dpkg::Use-Pty=0 $step >"$log" 2>&1; then
        echo "apt-get $step failed:" >&2
        tail -n 5 "$log" >&2
        break
    fi
done
rm -f "$log"
exit 0
