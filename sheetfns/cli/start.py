"""Where a command begins: where packages are missing, it says so, and doctor runs all the same."""

from __future__ import annotations

import sys
from pathlib import Path

from sheetfns.extras import MissingPackagesError, need

_BROKEN = 2


def main() -> None:
    """Run the command of the command line."""
    try:
        need("commands", "The commands need")
        from sheetfns.cli import app  # noqa: PLC0415  (needs packages that may be missing)

        commands = app.load(*sys.argv[1:2])
    except Exception as error:  # noqa: BLE001  (a broken package fails as it likes)
        sys.exit(_without_packages(error))
    app.run(commands)


def _without_packages(error: Exception) -> int:
    from sheetfns.programs import doctor  # noqa: PLC0415  (a command that runs has no need of it)
    from sheetfns.programs.findings import own_command  # noqa: PLC0415

    if sys.argv[1:2] == ["doctor"]:
        doctor.show(doctor.look_over(Path(sys.argv[2]) if len(sys.argv) > 2 else None))
        return 1
    if isinstance(error, MissingPackagesError):
        sys.stderr.write(f"{error}\n")
        return _BROKEN
    sys.stderr.write(
        f"sheetfns cannot start: {error}. A package is missing or broken; "
        f"'{own_command('doctor')}' says which and what to do.\n"
    )
    return _BROKEN


if __name__ == "__main__":
    main()
