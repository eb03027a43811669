#!/bin/sh
# Starts Pourwright with the newest Python here that is new enough.
cd "$(dirname "$0")" || exit 1

stay() {
    printf '\nPress Enter to close this window. '
    read -r _
}

for python in python3.14 python3.13 python3.12 python3.11 python3 /usr/local/bin/python3; do
    found=$(command -v "$python") || continue
    # Before Apple's developer tools are installed, this one only asks for them.
    if [ "$found" = /usr/bin/python3 ] && [ "$(uname)" = Darwin ] && ! xcode-select -p >/dev/null 2>&1; then
        continue
    fi
    "$found" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || continue
    "$found" run.py @OPTIONS@"$@" || { ended=$?; stay; exit $ended; }
    exit 0
done

echo "Pourwright needs Python 3.11 or newer, which is not on this computer."
echo "Get it from https://www.python.org/downloads/ and install it, then start this again."
stay
exit 1
