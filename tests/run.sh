#!/bin/sh
# Installs what the tests need, LibreOffice among it where the system has it, and runs them.
set -eu
cd "$(dirname "$0")/.."
. examples/environment.sh
make_environment
if ! command -v soffice >/dev/null || ! /usr/bin/python3 -c 'import uno' 2>/dev/null; then
    from_debian libreoffice-calc python3-uno >/dev/null ||
        echo "LibreOffice could not be installed; its tests will say so." >&2
fi
command -v ssconvert >/dev/null || from_debian gnumeric >/dev/null ||
    echo "Gnumeric could not be installed; its tests will say so." >&2
for tool in Xvfb xdotool; do
    command -v $tool >/dev/null || from_debian xvfb xdotool >/dev/null ||
        echo "$tool could not be installed; the tests by keys will say so." >&2
done
command -v pdftoppm >/dev/null || from_debian poppler-utils >/dev/null ||
    echo "poppler-utils could not be installed; the tests of pictures will say so." >&2
.venv/bin/pip install --quiet --disable-pip-version-check ".[test]"
# Else each process works out the code of every file again.
unset PYTHONDONTWRITEBYTECODE
# In the order of tests/conftest.py, and not by the number of tests, which says little of the time.
exec .venv/bin/python -m pytest -q -n auto --dist loadfile --no-loadscope-reorder "$@"
