"""What keys do to a log in a window of LibreOffice, on a screen of its own; run by a Python that has uno.

Usage: keys_in_libreoffice.py SOFFICE PROFILE_URI SOURCE_URI FOLDER_URI HABITS_JSON, as hands_in_libreoffice.py. Xvfb gives
the screen, xdotool presses the keys. A step is select, keys, text, menu (a command of the program's own menus) or dialog
(keys for a window that is expected to stand over the log; without one the step is refused), or follow (a click on a cell
with a link, with the key Control; where it leads is told).
"""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import uno
from hands_in_libreoffice import refusal, shown
from typing_in_libreoffice import option, running

PAUSE, SECONDS_FOR_A_WINDOW, PAUSE_BY_SPEED = 0.35, 20, 2
"""After a key: so many seconds, or, where that is more, so many times what calculating the log took."""
LEFT_OF_CELLS, ABOVE_CELLS, INTO_TEXT, INTO_ROW = 37, 68, 24, 10
"""Pixels beside and above the cells, without toolbars, and into a cell with a link."""
SIGNS_OF_FOLDS, COLUMNS_LOOKED_AT = 29, 130
ACROSS, DOWN = 0.0399, 96 / 2540
"""Pixels in a hundredth of a millimeter; LibreOffice draws columns by the widths of letters."""


class Keys:
    """The steps, each by the keyboard."""

    def __init__(self, book, display, pause):
        self.book = book
        self.pause = max(PAUSE, pause)
        self.controller = book.CurrentController
        self.frame = self.controller.Frame
        self.surroundings = {**os.environ, "DISPLAY": display}
        self.at_first = self._windows()
        self.went = []
        self._to_log()

    def _xdotool(self, *words):
        return subprocess.run(
            ["xdotool", *words], env=self.surroundings, capture_output=True, text=True, timeout=60, check=False
        ).stdout.split()

    def _windows(self):
        for _ in range(int(SECONDS_FOR_A_WINDOW / PAUSE)):
            found = self._xdotool("search", "--onlyvisible", "--name", "")
            if found:
                return found
            time.sleep(self.pause)
        raise SystemExit("no window of soffice")

    def over_the_log(self):
        """The windows that came since the log was opened."""
        return [one for one in self._windows() if one not in self.at_first]

    def _to_log(self):
        self._xdotool("windowfocus", "--sync", self.at_first[-1])
        self.frame.ContainerWindow.setFocus()
        self.frame.ComponentWindow.setFocus()

    def select(self, sheet, cells):
        chosen = self.book.Sheets.getByName(sheet)
        self.controller.setActiveSheet(chosen)
        self.controller.select(chosen.getCellRangeByName(cells))
        self._to_log()
        time.sleep(self.pause)

    def keys(self, *names):
        for name in names:
            self._xdotool("key", "--clearmodifiers", name)
            time.sleep(self.pause)

    def text(self, words):
        self._xdotool("type", "--delay", "30", words)
        time.sleep(self.pause)
        self.keys("Return")

    def menu(self, command):
        here = uno.getComponentContext()
        helper = here.ServiceManager.createInstanceWithContext("com.sun.star.frame.DispatchHelper", here)
        helper.executeDispatch(self.frame, command, "", 0, ())
        time.sleep(self.pause)

    def follow(self, sheet, cell):
        self.select(sheet, "A1")
        # A cell that is chosen by the program stays so when a link leads elsewhere on its sheet.
        self.keys("ctrl+Home")
        cells = self.book.Sheets.getByName(sheet)
        place = cells.getCellRangeByName(cell)
        self.controller.setFirstVisibleRow(place.CellAddress.Row)
        top = cells.getCellByPosition(0, self.controller.getFirstVisibleRow())
        window = self.frame.ComponentWindow.PosSize
        columns = cells.Columns
        folds = not all(columns.getByIndex(number).IsVisible for number in range(COLUMNS_LOOKED_AT))
        x = window.X + LEFT_OF_CELLS + place.Position.X * ACROSS
        y = window.Y + ABOVE_CELLS + folds * SIGNS_OF_FOLDS + (place.Position.Y - top.Position.Y) * DOWN
        self._xdotool("mousemove", str(round(x) + INTO_TEXT), str(round(y) + INTO_ROW))
        self._xdotool("keydown", "ctrl")
        self._xdotool("click", "1")
        self._xdotool("keyup", "ctrl")
        time.sleep(self.pause)
        self.went.append([sheet, cell, place.String, getattr(self.book.CurrentSelection, "AbsoluteName", "")])

    def dialog(self, *names):
        before = time.monotonic()
        while not self.over_the_log():
            if time.monotonic() - before > SECONDS_FOR_A_WINDOW:
                raise RuntimeError("no window stands over the log")
            time.sleep(self.pause)
        # Without a window manager nothing but a click gives a window the keys.
        self._xdotool("mousemove", "--window", self.over_the_log()[0], "12", "12", "click", "1")
        time.sleep(self.pause)
        self.keys(*names)
        self._to_log()


def main(soffice, profile, source, folder, habits):
    """Each habit on a log of its own."""
    told = {}
    reader, writer = os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1366x768x24", "-nolisten", "tcp"],
        pass_fds=(writer,),
        stderr=subprocess.DEVNULL,
    )
    try:
        os.close(writer)
        display = f":{os.read(reader, 16).decode().strip()}"
        with running(soffice, profile, display) as desktop:
            for name, steps in json.loads(Path(habits).read_text(encoding="utf-8")).items():
                book = desktop.loadComponentFromURL(source, "_blank", 0, ())
                begun = time.monotonic()
                book.calculateAll()
                hands = Keys(book, display, PAUSE_BY_SPEED * (time.monotonic() - begun))
                refused = refusal(hands, steps)
                if hands.over_the_log():
                    refused = refused or "a window stands over the log"
                    hands.dialog("Escape")
                hands.keys("Escape")
                told[name] = shown(book) | {"refused": refused, "went": hands.went}
                book.storeToURL(f"{folder}/{name}.xlsx", (option("FilterName", "Calc MS Excel 2007 XML"),))
                book.setModified(False)
                book.close(True)
    finally:
        screen.terminate()
        screen.wait(30)
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
