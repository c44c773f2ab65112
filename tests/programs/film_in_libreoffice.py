"""The jobs of a week by real clicks and keys in a window of LibreOffice, with a picture of each; run by a Python with uno.

Usage: film_in_libreoffice.py SOFFICE PROFILE_URI LOG THEIRS SALES FOLDER, with the add-in in the profile. LOG is a
copy that is filled in, THEIRS a partner's copy of it, SALES a CSV file; pictures go into FOLDER. It prints a line for
each job: seconds, clicks, keys. Xvfb gives the screen, xdotool clicks and types. examples/jobs.md was made by it.
"""

import os
import struct
import subprocess
import sys
import time
import zlib
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import uno
from typing_in_libreoffice import running

MENU = (405, 8)
"""Where the menu bar of a window in its usual size says "Sourcing log"."""
FILE_NAME = (320, 269)
"""Where the program's own dialog for files has the name."""
KEY_PAUSE, MOST_SECONDS, STAYS = 0.25, 60, 1
GROUPS = {"Record": 4, "Keep": 6, "See": 3, "Help": 3}


class Film:
    """A screen with the program on it; counts clicks and keys."""

    def __init__(self, display, folder, book):
        self.surroundings = {**os.environ, "DISPLAY": display}
        self.folder, self.book = Path(folder), book
        self.clicks = self.keys = self.pictures = 0
        self.usual = set(self.windows())
        self.main = self.windows()[-1]

    def xdotool(self, *words):
        done = subprocess.run(
            ["xdotool", *words], env=self.surroundings, capture_output=True, text=True, timeout=60, check=False
        )
        return done.stdout.split()

    def windows(self):
        return self.xdotool("search", "--onlyvisible", "--name", "")

    def new_window(self):
        """Wait for a window that was not there and stays: one that says what is being done goes again."""
        until = time.monotonic() + MOST_SECONDS
        last, since = [], time.monotonic()
        while time.monotonic() < until:
            found = [one for one in self.windows() if one not in self.usual and not self.asks_nothing(one)]
            if found != last:
                last, since = found, time.monotonic()
            if found and time.monotonic() - since > STAYS:
                return found[-1]
            time.sleep(0.1)
        raise SystemExit("no window came")

    def asks_nothing(self, window):
        """Whether a window says what is being done, or is a workbook."""
        name = self.xdotool("getwindowname", window)
        return "working" in name or "LibreOffice" in name

    def gone(self):
        """Wait until only the usual windows are there."""
        until = time.monotonic() + MOST_SECONDS
        while time.monotonic() < until and set(self.windows()) - self.usual:
            time.sleep(0.1)

    def click(self, x, y, window=None):
        where = ["--window", window] if window else []
        self.xdotool("mousemove", *where, str(x), str(y))
        self.xdotool("click", "1")
        self.clicks += 1
        time.sleep(KEY_PAUSE)

    def key(self, *names):
        for name in names:
            self.xdotool("key", "--clearmodifiers", name)
            self.keys += 1
            time.sleep(KEY_PAUSE)

    def words(self, text):
        self.xdotool("type", "--delay", "40", text)
        self.keys += len(text)
        time.sleep(KEY_PAUSE)

    def command(self, group, place):
        """Choose a command of the menu; the place is counted from 1 in its group."""
        self.book.CurrentController.Frame.ContainerWindow.toFront()  # a list may stand before it
        # Without a window manager the keys stay with a window that is gone.
        self.xdotool("windowfocus", "--sync", self.main)
        time.sleep(0.5)
        self.click(*MENU)
        time.sleep(0.5)
        self.key(*["Down"] * (1 + list(GROUPS).index(group)), "Right", *["Down"] * (place - 1), "Return")

    def picture(self, name):
        time.sleep(0.6)
        self.pictures += 1
        write_png(self.folder / "Xvfb_screen0", self.folder / f"{self.pictures:02d}_{name}.png")


def write_png(dump, path, size=(1366, 768)):
    """What Xvfb shows, as a PNG."""
    data = dump.read_bytes()
    head = struct.unpack(">25I", data[:100])
    start, line = head[0] + head[19] * 12, head[12]
    width, height = min(size[0], head[4]), min(size[1], head[5])
    rows = bytearray()
    for row in range(height):
        begin = start + row * line
        cells = data[begin : begin + 4 * width]
        picture = bytearray(3 * width)
        picture[0::3], picture[1::3], picture[2::3] = cells[2::4], cells[1::4], cells[0::4]
        rows += b"\0" + picture

    def part(kind, content):
        whole = kind + content
        return struct.pack(">I", len(content)) + whole + struct.pack(">I", zlib.crc32(whole))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + part(b"IHDR", header) + part(b"IDAT", zlib.compress(bytes(rows), 9)) + part(b"IEND", b"")
    )


def buy(film):
    film.command("Record", 1)
    window = film.new_window()
    film.click(250, 12, window)
    film.key("Tab")
    film.words("Brass desk lamp")
    film.key("Tab", "Tab", "Tab", "Tab")
    film.words("6")
    film.key("Tab", "Tab", "Tab", "Tab")
    film.words("35 28.99 31")
    film.key("Tab")
    time.sleep(2)
    film.picture("buy")
    film.key("Return")
    film.gone()


def sell(film):
    film.command("Record", 2)
    window = film.new_window()
    film.click(250, 20, window)
    film.words("P170")
    film.key("Tab", "Tab")
    film.words("25")
    film.key("Tab", "Tab", "Tab", "Tab")
    film.words("5")
    film.key("Tab")
    film.picture("sell")
    film.key("Return")
    film.gone()


def chosen_file(film, path):
    """Type a path into the program's own file dialog."""
    film.click(*FILE_NAME, film.new_window())
    film.key("ctrl+a")
    film.words(str(path))
    film.key("Return")
    time.sleep(1)
    film.gone()


def agree(film, name):
    """Wait for a question, a form or a message, take a picture, and agree with the key Return."""
    window = film.new_window()
    film.click(12, 12, window)
    film.picture(name)
    before = set(film.windows())
    film.key("alt+y" if name.endswith("_question") and not name.startswith("summary") else "Return")
    until = time.monotonic() + MOST_SECONDS
    while time.monotonic() < until and set(film.windows()) == before:
        time.sleep(0.1)


def bring_in(film, sales):
    film.command("Keep", 3)
    chosen_file(film, sales)
    for name in ("import_columns", "import_question", "import_done"):
        agree(film, name)


def merge(film, theirs):
    film.command("Keep", 2)
    chosen_file(film, theirs)
    for name in ("merge_conflict", "merge_question", "merge_done"):
        agree(film, name)


def fix(film):
    film.command("Keep", 1)
    agree(film, "fix")


def year(film):
    film.command("See", 3)
    agree(film, "summary_question")
    time.sleep(6)
    film.picture("summary")


def main(*arguments):
    """Each job, one after the other, on one log."""
    soffice, profile, log, theirs, sales, folder = arguments
    reader, writer = os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1366x768x24", "-nolisten", "tcp", "-fbdir", folder],
        pass_fds=(writer,),
        stderr=subprocess.DEVNULL,
    )
    try:
        os.close(writer)
        display = f":{os.read(reader, 16).decode().strip()}"
        with running(soffice, profile, display) as desktop:
            book = desktop.loadComponentFromURL(uno.systemPathToFileUrl(log), "_blank", 0, ())
            time.sleep(4)
            film = Film(display, folder, book)
            jobs = {
                "buy": lambda: buy(film),
                "sell": lambda: sell(film),
                "import": lambda: bring_in(film, sales),
                "merge": lambda: merge(film, theirs),
                "fix": lambda: fix(film),
                "summary": lambda: year(film),
            }
            for name, job in jobs.items():
                film.clicks = film.keys = 0
                begun = time.monotonic()
                job()
                print(f"{name}: {time.monotonic() - begun:.0f} s, {film.clicks} clicks, {film.keys} keys", flush=True)
                time.sleep(2)
                film.usual = set(film.windows())  # a list stays open
            for one in list(desktop.Frames):
                one.close(True) if one.Controller is None else one.Controller.Model.close(True)
    finally:
        screen.terminate()


if __name__ == "__main__":
    main(*sys.argv[1:])
