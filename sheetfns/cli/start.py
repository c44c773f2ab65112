"""Where a command begins: where packages are missing, it says so, and doctor runs all the same."""

from __future__ import annotations

import sys
from pathlib import Path

from sheetfns.programs import doctor
from sheetfns.programs.findings import own_command

_BROKEN = 2


def main() -> None:
    """Run the command of the command line."""
    try:
        from sheetfns.cli import app as cli  # noqa: PLC0415  (needs packages that may be missing)
    except Exception as error:  # noqa: BLE001  (a broken package fails as it likes)
        if sys.argv[1:2] == ["doctor"]:
            file = Path(sys.argv[2]) if len(sys.argv) > 2 else None
            doctor.tell(doctor.look_over(file))
            sys.exit(1)
        sys.stderr.write(
            f"sheetfns cannot start: {error}. A package is missing or broken; "
            f"'{own_command('doctor')}' says which and what to do.\n"
        )
        sys.exit(_BROKEN)
    cli.main()


if __name__ == "__main__":
    main()
