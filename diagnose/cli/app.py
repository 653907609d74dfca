"""The command `diagnose`: its groups, its help and its way of failing.

Groups are imported only when they are called, so that `--help` stays quick.
"""

from __future__ import annotations

import errno
import io
import os
import sys
import traceback
from importlib import import_module
from pathlib import Path
from typing import Any

import typer
from typer.core import TyperGroup

from diagnose import __version__
from diagnose.errors import DiagnoseError, InputError, NotFoundError, StoreError

TRACEBACK_VARIABLE = "DIAGNOSE_TRACEBACK"

COMMANDS: dict[str, tuple[str, str, str]] = {
    "demo": ("Start here", "demo", "Make invented jobs and follow one complaint to its finding."),
    "job": ("On site", "job", "Keep the install record of a job."),
    "check": ("On site", "check", "Check a job before leaving site."),
    "pack": ("On site", "pack", "Make the handover pack for the client."),
    "walk": ("Inspect", "walk", "Ask the questions that lead from a complaint to a finding."),
    "case": ("Inspect", "case", "List, show, close and reopen cases."),
    "report": ("Inspect", "report", "Write a finding as a report."),
    "explain": ("Inspect", "explain", "Explain a symptom, cause, question, check or source."),
    "calc": ("Inspect", "calc", "Work out one figure, with the working shown."),
    "practice": ("Teach", "practice", "Practise finding the cause of drawn faults."),
    "trace": ("Office", "trace", "Find every job that used a batch or lot."),
    "trends": ("Office", "trends", "Show what closed cases say over time."),
    "learn": ("Office", "learn", "Propose changed frequencies from closed cases."),
    "casebook": ("Office", "casebook", "Verify, back up and merge the casebook."),
    "rules": ("Rules", "rules", "Keep the rules sound."),
}
"""Command to its heading, its module in diagnose.cli and its one line of help."""


class LazyGroup(TyperGroup):
    """A group whose commands are imported when called, and no earlier."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the commands that are there, in the order of the table."""
        folder = Path(__file__).parent
        return [name for name, row in COMMANDS.items() if folder.joinpath(f"{row[1]}.py").is_file()]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Import and return one command; None if there is none of that name."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module = import_module(f"diagnose.cli.{COMMANDS[cmd_name][1]}")
        command = typer.main.get_command(module.app)
        command.name = cmd_name
        return command

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the commands under their headings without importing them."""
        headings: dict[str, list[tuple[str, str]]] = {}
        for name in self.list_commands(ctx):
            heading, _, text = COMMANDS[name]
            headings.setdefault(heading, []).append((name, text))
        for heading, rows in headings.items():
            with formatter.section(heading):
                formatter.write_dl(rows)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Resolve a command; a slip of the pen is answered with the nearest name."""
        names: Any = dict.fromkeys(self.list_commands(ctx))
        self.commands = names
        return super().resolve_command(ctx, args)


app = typer.Typer(
    cls=LazyGroup,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def start(
    ctx: typer.Context,
    version: bool = typer.Option(False, "--version", help="Show the version."),
) -> None:
    """Find what went wrong with a fitted carpet, and keep its install record."""
    if version:
        typer.echo(f"diagnose {__version__}")
        raise typer.Exit
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


def exit_code(error: DiagnoseError) -> int:
    """Return the exit code of an error: 3 not found, 5 store, 1 all else."""
    if isinstance(error, NotFoundError):
        return 3
    return 5 if isinstance(error, StoreError) else 1


def message(error: DiagnoseError) -> str:
    """Return the whole message of an error as plain, harmless text."""
    from diagnose.text import clean

    if isinstance(error, InputError):
        return "\n".join(f"error: {clean(str(problem))}" for problem in error.problems)
    text = f"error: {clean(str(error))}"
    if isinstance(error, NotFoundError) and error.near:
        text += f"\nhint: did you mean {clean(', '.join(error.near))}?"
    return text


_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "no room is left for this user",
    errno.ENAMETOOLONG: "the name is too long",
    errno.EACCES: "there is no permission",
    errno.EPERM: "it is not permitted",
    errno.EROFS: "the disk is read-only",
    errno.ENOENT: "there is no such file or folder",
    errno.ENOTDIR: "a part of the path is a file, not a folder",
    errno.EISDIR: "it is a folder",
    errno.EEXIST: "it is there already",
}


def system_message(error: OSError) -> str:
    """Return what the system refused, with the file and the reason, as one sentence."""
    from diagnose.text import clean

    name = error.filename if error.filename is not None else _file_of(error)
    reason = _REASONS.get(error.errno or 0) or error.strerror or str(error) or "the system refused"
    if name is None:
        return clean(f"error: the output cannot be written: {reason}")
    what = os.fsdecode(name) if isinstance(name, str | bytes) else str(name)
    if len(what) > 200:
        what = f"{what[:120]}...{what[-60:]}"
    return clean(f"error: {what or 'a file without a name'} cannot be used: {reason}")


def _file_of(error: OSError) -> str | None:
    """Return the file whose writing failed; the system names only one that is not opened."""
    for frame, _ in reversed(list(traceback.walk_tb(error.__traceback__))):
        if isinstance(path := frame.f_locals.get("self"), Path):
            return str(path)
    return None


def _speak_plainly() -> None:
    """Let both streams spell what their encoding cannot show."""
    from diagnose.text import SPELLED, spelling

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding=spelling(stream.encoding), errors=SPELLED)


def _drop_output() -> None:
    """Forget what could not be written, so that nothing is said of it at the end."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        pass


def _command() -> None:
    try:
        typer.main.get_command(app)(prog_name="diagnose")
    finally:
        # What is still held back would fail after the last chance to say so.
        sys.stdout.flush()


def run() -> None:
    """Run the command line; end with a message and an exit code, never a traceback."""
    _speak_plainly()
    try:
        _command()
    except DiagnoseError as error:
        print(message(error), file=sys.stderr)
        sys.exit(exit_code(error))
    except KeyboardInterrupt:
        sys.exit(1)
    except BrokenPipeError:
        _drop_output()
        sys.exit(1)
    except OSError as error:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        print(system_message(error), file=sys.stderr)
        _drop_output()
        sys.exit(1)
    except UnicodeError:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        print(
            "error: a word that was given holds bytes that are no text; write it in UTF-8",
            file=sys.stderr,
        )
        sys.exit(1)
    except Exception as error:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        print(
            f"error: the program failed unexpectedly ({type(error).__name__}); "
            f"set {TRACEBACK_VARIABLE}=1 to see where",
            file=sys.stderr,
        )
        sys.exit(1)
