#!/bin/sh
# Makes the environment, installs sheetfns and runs the example shop.
set -eu
cd "$(dirname "$0")/.."
. examples/environment.sh
make_environment
.venv/bin/pip install --quiet --disable-pip-version-check ".[all]"
.venv/bin/sheetfns demo "$@"
