"""Where a casebook keeps its photos and files, and how they are copied to another."""

from __future__ import annotations

from pathlib import Path

from diagnose.store.attachments import Files, FolderFiles, SpoiltError
from diagnose.store.engine import Engine
from diagnose.store.shared_files import SharedFiles


def files_of(engine: Engine, folder: Path) -> Files:
    """Return where a casebook keeps its files; `folder` is the one on this machine."""
    if engine.name == "sqlite":
        return FolderFiles(folder)
    return SharedFiles(engine, folder)


def copy_all(source: Files, target: Files) -> int:
    """Copy every sound file that `target` lacks; return how many.

    A spoilt one stays where it is; `spoilt` names it.
    """
    fresh = 0
    for digest, extension in source.kinds().items():
        if target.holds(digest):
            continue
        try:
            data = source.read(digest)
        except SpoiltError:
            continue
        target.keep(data, extension)
        fresh += 1
    return fresh
