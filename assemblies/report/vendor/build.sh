#!/usr/bin/env bash
# Makes three.bundle.js anew from the npm packages named in package.json.  Needs Node; nothing else in the repository does.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here/package.json" "$here/entry.js" "$work"
cd "$work"
npm install --silent --no-audit --no-fund
cp node_modules/three/LICENSE "$here/LICENSE-three.txt"
{
    echo "/*! three.js $(node -p 'require("./node_modules/three/package.json").version')"
    cat node_modules/three/LICENSE
    echo "*/"
    node_modules/.bin/esbuild entry.js --bundle --minify --format=iife --global-name=THREE --target=es2020 --legal-comments=none
} >"$here/three.bundle.js"
