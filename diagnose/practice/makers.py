"""The makers of short questions, one for each kind."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.practice import items_causes, items_pictures, items_work
from diagnose.practice.item import ItemKind, Maker

MAKERS: Mapping[ItemKind, Maker] = {
    ItemKind.WHICH_CAUSE: items_causes.which_cause,
    ItemKind.WHAT_SEPARATES: items_causes.what_separates,
    ItemKind.WHAT_TO_RECORD: items_work.what_to_record,
    ItemKind.WHICH_CAUTION: items_work.which_caution,
    ItemKind.STEPS_IN_ORDER: items_work.steps_in_order,
    ItemKind.HEARD_ON_SITE: items_causes.heard_on_site,
    ItemKind.WHERE_ON_RECORD: items_causes.where_on_record,
    ItemKind.WHICH_LIMIT: items_work.which_limit,
    ItemKind.WHAT_FIRST: items_work.what_first,
    ItemKind.READ_A_PICTURE: items_pictures.read_a_picture,
}
