#!/bin/sh
# Can this Python make an environment? If not, one sentence says what to install.
python=$1
name="another one can be named: make demo PYTHON=python3.13"
if ! command -v "$python" >/dev/null 2>&1; then
    echo "forehear needs Python 3.11 or newer and found no $python: install it (Debian: apt-get install python3 python3-venv); $name" >&2
    exit 1
fi
if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    found=$("$python" --version 2>&1 | head -n 1)
    echo "forehear needs Python 3.11 or newer and $python is ${found:-broken}: install a newer one (Debian: apt-get install python3 python3-venv); $name" >&2
    exit 1
fi
if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    echo "$python cannot make an environment because its ensurepip or venv module is missing: install it (Debian: apt-get install python3-venv); $name" >&2
    exit 1
fi
