"""The floor plan shows every drop and seam, and nothing in the record can run."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

from diagnose.reports.plan import draw_job


def example() -> ModuleType:
    spec = importlib.util.spec_from_file_location("a_job", Path(__file__).with_name("a_job.py"))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_plan_names_every_drop_and_seam() -> None:
    job = example().the_job()
    drawn = " ".join(drawing.svg for drawing in draw_job(job))
    assert drawn
    for name in (*job.drops, *job.seams):
        assert name in drawn


def test_plan_of_hostile_text_is_sound_xml_without_scripts() -> None:
    for drawing in draw_job(example().hostile_job()):
        tree = ElementTree.fromstring(drawing.svg)
        tags = {element.tag.rsplit("}", 1)[-1] for element in tree.iter()}
        assert "script" not in tags
        assert not [
            key for element in tree.iter() for key in element.attrib if key.startswith("on")
        ]
