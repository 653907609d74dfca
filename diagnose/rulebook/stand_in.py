"""Figures that stand in where scale.yaml `numbers` does not give one."""

from __future__ import annotations

from collections.abc import Mapping

STAND_IN: Mapping[str, float] = {
    "leak": 0.005,
    "background": 0.05,
    "usual_background": 0.5,
    "sighting_background": 0.01,
    "mention_rate": 0.2,
    "check_false_alarm": 0.05,
    "not_recorded_in_order": 0.2,
    "not_recorded_deviation": 0.2,
    "mechanism_leak": 0.02,
    "together_share": 0.1,
    "together_part": 0.7,
    "settle_at": 0.9,
    "least_gain_bit": 0.05,
    "wrong_finding_minutes": 240.0,
    "bit_of_wrong_finding": 0.0625,
}
