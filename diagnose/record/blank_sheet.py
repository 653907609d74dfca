"""An empty sheet with the parts that most jobs have, and what each is for."""

from __future__ import annotations

import json
import re
import unicodedata

from diagnose.errors import InputError, Problem
from diagnose.record.sheet_numbers import short
from diagnose.record.sheet_read import ID, ID_HINT

_SHEET = """\
id: {id}
title: {title}
zone: Europe/London          # times below are local there
method:                      # adhered, double-stick, stretch-in, tile
site:
  building:                  # care-home, school, office, clinic, ...
  built_year:
  asbestos_survey:           # none, clear, found, not-known
contract:
  codes:                     # codes the contract names, such as [cri-104-2015]
  approved_sample:           # number of the sample the goods were approved by, or where it is kept
product:
  pile:                      # loop, cut, cut-and-loop, flat
  construction:              # tufted, woven, needled, bonded
  backing:                   # impervious, secondary, foam, cushion, unitary
  fibre:                     # wool, wool-blend, polyamide, polypropylene, polyester, other
  data_sheet:
  ## Limits of the data sheet go before all others.
  # limits: {{open-time: {{high: 30, unit: min, source: sheet and date}}}}
dates:
  started_at:                # 2026-03-02 08:10
  finished_at:
  handed_over_at:
## One part a line from here on; take "# " off a line and fill in what you know.
people:
#   AB: fitter
areas:
#   day-room: {{name: Day room, outline_m: [[0, 0], [8, 0], [8, 6], [0, 6]]}}
rolls:
#   R1: {{batch: "0417", roll_number: 11, inspected: yes}}
lots:
#   A1: {{kind: adhesive, batch: K2207, expires_on: 2026-11-30}}
#   B1: {{kind: sealer, batch: "8831"}}
conditioning:
#   K1: {{what: "roll:R1", where: day-room, from_at: 2026-02-27 15:00, to_at: 2026-03-02 08:30}}
drops:
#   L1: {{area: day-room, roll: R1, edges: {{left: {{cut: thread-drawn}}, right: {{cut: thread-drawn}}}}}}
#   L2: {{area: day-room, roll: R1, edges: {{left: {{cut: thread-drawn}}, right: {{cut: thread-drawn}}}}}}
spreads:
#   SP1: {{area: day-room, drops: [L1], lot: A1, started_at: 2026-03-02 09:00, laid_at: 2026-03-02 09:15}}
seams:
#   S1: {{area: day-room, drops: [L1, L2], made_by: stuck, edges_sealed: 2, sealer_lot: B1}}
edges:
#   E1: {{area: day-room, kind: wall, adhesive_to_edge: yes, hand_rolled: yes}}
readings:
#   M1: {{kind: moisture-humidity, value: 68, unit: "%", area: day-room, taken_at: 2026-02-26 10:00}}
completion:
  walked_over:
  protection:
  first_traffic_at:
  offcut_kept:
"""


def blank_sheet(job_id: str, title: str = "") -> str:
    """Return the text of an empty sheet for a new job.

    Raises
    ------
    InputError
        When no sheet could bear that id; names one that it could.
    """
    if not ID.fullmatch(job_id):
        good = good_id(job_id)
        hint = f"write {good}" if good else ID_HINT
        raise InputError([Problem(None, f"{short(job_id)} cannot be the id of a job", hint)])
    return _SHEET.format(id=_quoted(job_id), title=_quoted(title or job_id))


def good_id(text: str) -> str:
    """Return the id nearest to what was written, empty where nothing is left.

    Examples
    --------
    >>> good_id("Elm Court!"), good_id("Café №3"), good_id("!!")
    ('elm-court', 'cafe-no3', '')
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9_]+", "-", plain).strip("-_")[:64].rstrip("-_")


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
