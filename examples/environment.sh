# Makes .venv beside pyproject.toml; sourced by examples/demo.sh and tests/run.sh.

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"
    elif command -v sudo >/dev/null; then sudo "$@"
    else return 1; fi
}

# Usage: from_debian PACKAGE...   Installs where apt-get is there; fails elsewhere.
from_debian() {
    command -v apt-get >/dev/null || return 1
    as_root apt-get update -qq &&
        as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
}

make_environment() {
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
        echo "Python 3.11 or newer is needed; install it and run this again." >&2
        return 1
    }
    [ -x .venv/bin/pip ] || python3 -m venv .venv ||
        { from_debian python3-venv && python3 -m venv .venv; } || {
        echo "python3 -m venv does not work here; install your system's package for it." >&2
        return 1
    }
}
