"""Does what a page tells its reader, step by step, in a folder of its own."""

import contextlib
import io
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

from halfroll.cli.main import run
from tests.docs.pages import Step, steps_of
from tests.docs.recorder import record


def stand_in(
    folder: Path, *, port: int, open_browser: bool, path: str, on_ready: Callable[[str], None]
) -> None:
    """Say the address as the server does and come back at once; the server has tests of its own."""
    on_ready(f"http://127.0.0.1:{port}{path}")


class Reader:
    """Somebody who follows a page; knows what the last commands printed."""

    def __init__(self, folder: Path) -> None:
        self.here = folder
        self.printed = ""

    def follow(self, page: str) -> None:
        """Do every step of a page."""
        for step in steps_of(page):
            self.do(step)

    def do(self, step: Step) -> None:
        """Do one step; an assertion names page and line where it is not as the page says."""
        doing = {"run": self._run, "shows": self._shows, "write": self._write, "append": self._append,
                 "change": self._change, "recorded": self._recorded}  # fmt: skip
        if step.kind in doing:
            doing[step.kind](step)

    def _run(self, step: Step) -> None:
        self.printed = ""
        commands = step.text.replace("\\\n", " ").strip().split("\n")
        wanted = int(step.what.removeprefix("exit ")) if step.what else 0
        for number, line in enumerate(commands, 1):
            code = self._command(shlex.split(line, comments=True), step)
            expected = wanted if number == len(commands) else 0
            assert code == expected, f"{step}: {line!r} gave exit code {code}\n{self.printed}"

    def _command(self, words: list[str], step: Step) -> int:
        if words[0] == "cd":
            self.here = self.here / words[1]
            return 0 if self.here.is_dir() else 1
        if words[0] == "cp":
            shutil.copy(*(self.here / word for word in words[1:]))
            return 0
        assert words[0] == "halfroll", f"{step}: {words[0]} is no command a test can run"
        out = io.StringIO()
        with (
            contextlib.chdir(self.here),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(out),
            patch("halfroll.app.server.run", stand_in),
        ):
            code = run(words[1:])
        self.printed += out.getvalue()
        return code

    def _shows(self, step: Step) -> None:
        same = spaced if step.what == "numbers" else plain
        printed = same(self.printed)
        for line in filter(None, map(str.strip, step.text.split("\n"))):
            for part in filter(None, line.split("...")):
                assert same(part) in printed, f"{step}: not printed: {part}\n{self.printed}"

    def _write(self, step: Step) -> None:
        path = self.here / step.what
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(step.text + "\n", encoding="utf-8")

    def _append(self, step: Step) -> None:
        path = self._there(step)
        path.write_text(path.read_text(encoding="utf-8") + "\n" + step.text + "\n", encoding="utf-8")

    def _change(self, step: Step) -> None:
        """Put lines "key = value" in the place of those with the same key, or before the first table; below a line "[table]" in that
        table, or at its beginning.
        """
        path = self._there(step)
        lines = path.read_text(encoding="utf-8").split("\n")
        start = 0
        for line in step.text.split("\n"):
            if line.startswith("["):
                start = lines.index(line) + 1
                continue
            key = line.partition(" = ")[0]
            heads = [i for i, old in enumerate(lines) if old.startswith("[") and i >= start]
            end = len(lines) if start == 0 else heads[0] if heads else len(lines)
            at = next((i for i in range(start, end) if lines[i].startswith(f"{key} = ")), None)
            if at is not None:
                lines[at] = line
            else:
                lines.insert(start if start else heads[0] if heads else len(lines), line)
        path.write_text("\n".join(lines), encoding="utf-8")

    def _there(self, step: Step) -> Path:
        path = self.here / step.what
        assert path.exists(), f"{step}: there is no {step.what}"
        return path

    def _recorded(self, step: Step) -> None:
        record(step.what, self.here)


def spaced(text: str) -> str:
    """Text in which every stretch of spaces is one space."""
    return re.sub(r"\s+", " ", text).strip()


def plain(text: str) -> str:
    """Text in which every number is a hash and every stretch of spaces one space."""
    return spaced(re.sub(r"\d+(?:\.\d+)?", "#", text))
