"""Writing to a screen: width, colour, and nothing that could steer a terminal."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Iterable
from typing import IO, Any

from diagnose.text import clean

WIDEST = 100
PIPED = 100


class Screen:
    """Plain lines for a person; wrapped to the screen, coloured only on a terminal."""

    def __init__(self, stream: IO[str] | None = None) -> None:
        self.stream = stream or sys.stdout
        self.on_terminal = self.stream.isatty()
        self.colour = self.on_terminal and "NO_COLOR" not in os.environ
        if os.environ.get("TERM") == "dumb":
            self.colour = False
        columns = shutil.get_terminal_size((PIPED, 24)).columns
        self.width = max(30, min(columns - 1 if self.on_terminal else PIPED, WIDEST))

    def heading(self, text: str) -> None:
        """Write a heading with a line of air above it."""
        self._put("")
        self.strong(text)

    def text(self, text: str, *, indent: int = 0, mark: str = "") -> None:
        """Write a paragraph; `mark` stands in front of its first line."""
        import textwrap

        lead = " " * indent + (f"{mark} " if mark else "")
        follow = " " * len(lead)
        for number, part in enumerate(clean(text).split("\n")):
            wrapped = textwrap.wrap(
                part,
                self.width,
                initial_indent=follow if number else lead,
                subsequent_indent=follow,
                break_long_words=True,
                break_on_hyphens=False,
            )
            for line in wrapped or [lead.rstrip()]:
                self._put(line)

    def strong(self, text: str, *, indent: int = 0) -> None:
        """Write a paragraph that stands out."""
        import textwrap

        space = " " * indent
        for line in textwrap.wrap(
            clean(text), self.width, initial_indent=space, subsequent_indent=space
        ):
            self._put(self._styled("1", line))

    def caution(self, name: str, text: str, defer_to: str = "") -> None:
        """Write a caution; it stands out without colour too."""
        more = f" The last word: {defer_to.rstrip('.')}." if defer_to else ""
        label = self._styled("1;33", "CAUTION")
        import textwrap

        lines = textwrap.wrap(
            clean(f"CAUTION {name}. {text}{more}"), self.width, subsequent_indent="  "
        )
        for number, line in enumerate(lines):
            self._put(label + line[len("CAUTION") :] if number == 0 else line)

    def faint(self, text: str, *, indent: int = 0) -> None:
        """Write a paragraph that stands back."""
        import textwrap

        space = " " * indent
        for part in clean(text).split("\n"):
            for line in textwrap.wrap(
                part, self.width, initial_indent=space, subsequent_indent=space
            ) or [""]:
                self._put(self._styled("2", line))

    def air(self) -> None:
        """Write an empty line."""
        self._put("")

    def table(
        self, columns: Iterable[str], rows: Iterable[Iterable[str]], *, whole: int = 0
    ) -> None:
        """Write rows under headings; on a narrow screen cells wrap.

        The first `whole` columns hold ids, which are not broken where they fit at all.
        """
        from rich.box import SIMPLE
        from rich.console import Console
        from rich.table import Table
        from rich.text import Text

        table = Table(box=SIMPLE, pad_edge=False, show_edge=False)
        for number, column in enumerate(columns):
            kept = number < whole and self.width >= 50
            table.add_column(clean(column), overflow="fold", no_wrap=kept)
        for row in rows:
            table.add_row(*(Text(clean(cell)) for cell in row))
        console = Console(
            file=self.stream,
            width=self.width,
            no_color=not self.colour,
            highlight=False,
            force_terminal=self.colour,
        )
        console.print(table)

    def _styled(self, code: str, text: str) -> str:
        return f"\x1b[{code}m{text}\x1b[0m" if self.colour and text else text

    def _put(self, line: str) -> None:
        encoding = getattr(self.stream, "encoding", None) or "utf-8"
        safe = line.encode(encoding, "replace").decode(encoding)
        self.stream.write(safe + "\n")


def put_json(value: Any) -> None:
    """Write one JSON document to standard output."""
    sys.stdout.write(json.dumps(value, ensure_ascii=True, indent=2) + "\n")
