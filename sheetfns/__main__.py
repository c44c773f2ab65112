"""`python -m sheetfns` runs the commands, in a clone that is not installed too."""

from __future__ import annotations

from sheetfns.cli.start import main

if __name__ == "__main__":
    main()
