"""Colour and setting out with the working shown: differences, grades, light, pile.

The arithmetic is that of `colour` and `layout`, whose docstrings name the methods.
A colour is written as L*/a*/b*, a point of the plan as x,y in metres.
"""

from __future__ import annotations

from typing import Annotated

from diagnose.physics import colour, layout
from diagnose.physics.colour import Lab
from diagnose.physics.guard import OutOfRangeError
from diagnose.physics.lines import Line, heading_deg
from diagnose.physics.working import Bound, Step, Worked, plain, put


def colour_difference(
    one: Annotated[Lab, "one colour", "L*/a*/b* such as 50/2.6/-79.8"],
    other: Annotated[Lab, "other colour", "written alike"],
) -> Worked:
    """Difference of two measured colours, by CIELAB and by CIEDE2000."""
    plain_difference = colour.delta_e_76(one, other)
    modern = colour.delta_e_2000(one, other)
    steps = (_distance("CIELAB", one, other, plain_difference),)
    notes = (
        "CIEDE2000 is too long for a pocket calculator; its 34 published pairs are in the tests.",
        "Figures of the two formulae are not converted into each other.",
    )
    words = f"CIELAB {plain_difference:.2f}, CIEDE2000 {modern:.2f}"
    formula = ("CIELAB = √((L − L) ^ 2 + (a − a) ^ 2 + (b − b) ^ 2)",)
    return Worked(formula, steps, modern, "CIEDE2000", words, (), notes)


def grey_scale_grade(
    one: Annotated[Lab | None, "colour of the reference", "L*/a*/b* such as 50/2.6/-79.8"] = None,
    other: Annotated[Lab | None, "colour of the sample", "written alike"] = None,
    difference: Annotated[float | None, "difference, where it is known already"] = None,
) -> Worked:
    """Grey-scale grade of a colour difference, 5 for none down to 1."""
    notes: tuple[str, ...] = ()
    steps: list[Step] = []
    if difference is None:
        if one is None or other is None:
            raise OutOfRangeError("give the difference, or both colours")
        difference = colour.grey_scale_difference(one, other)
        if one.chroma or other.chroma:
            notes = (
                f"The difference {plain(difference, 4)} has chroma and hue weakened by ISO 105-A05 7, "
                "which is from memory, to be verified.",
            )
        else:
            steps.append(_distance("difference", one, other, difference))
    elif one is not None or other is not None:
        raise OutOfRangeError("give the difference or the colours, not both")
    grade = colour.grey_scale_grade(difference)
    d = put(difference)
    text = f"5 − {d} / 1.7" if difference <= 3.4 else f"max(1, 5 − log2({d} / 0.85))"
    steps.append(Step("grade", text, grade))
    bounds = (
        Bound("the nine steps 5, 4-5, 4 … 1", "ISO 105-A02 (1993) 2.4", "seen"),
        Bound("the formula of the grade", "ISO 105-A05 (1996) 8 as coded", "second-hand"),
    )
    formula = (
        "grade = 5 − difference / 1.7 up to 3.4",
        "grade = 5 − log2(difference / 0.85) above",
    )
    words = f"grade {colour.grade_word(grade)} ({grade:.2f})"
    return Worked(formula, tuple(steps), grade, "", words, bounds, notes)


def two_ends(
    one_near: Annotated[
        Lab, "one side of the seam from the near end", "L*/a*/b* such as 50/2.6/-79.8"
    ],
    other_near: Annotated[Lab, "other side from the near end"],
    one_far: Annotated[Lab, "one side from the far end"],
    other_far: Annotated[Lab, "other side from the far end"],
) -> Worked:
    """Whether two neighbours differ in colour, or only in the lie of their pile."""
    found = colour.from_two_ends(one_near, other_near, one_far, other_far)
    near, far = (colour.vector(one_near, other_near), colour.vector(one_far, other_far))
    steps = tuple(
        Step(
            name,
            "√("
            + " + ".join(
                f"(({put(n)} {sign} {put(f)}) / 2) ^ 2" for n, f in zip(near, far, strict=True)
            )
            + ")",
            value,
        )
        for name, sign, value in (("stays", "+", found.steady), ("swaps", "−", found.turning))
    )
    words = {
        "colour": "a difference of colour: it stays from both ends",
        "direction": "the lie of the pile: light and dark swap with the viewpoint",
        "none": f"no difference above {plain(colour.STEP_DELTA_E['4-5'])}, the first step of the grey scale",
    }[found.word]
    formula = (
        "near, far = other side less one side, in L, a and b",
        "stays = length of (near + far) / 2",
        "swaps = length of (near − far) / 2",
    )
    return Worked(formula, steps, found.word, "", words)


def light_reflectance(
    one_percent: Annotated[float, "light reflectance of one floor"],
    other_percent: Annotated[float, "light reflectance of the next floor"],
) -> Worked:
    """Difference of light reflectance between adjoining floors."""
    points = colour.light_reflectance_difference(one_percent, other_percent)
    step = Step("difference", f"abs({put(one_percent)} − {put(other_percent)})", points, "points")
    bounds = (
        Bound("adjoining floors within 8 points in care homes", "a design article", "second-hand"),
        Bound("transition strips within 3 points", "a design article", "second-hand"),
    )
    words = f"{plain(points)} points apart"
    return Worked(("difference = abs(one − other)",), (step,), points, "points", words, bounds)


def seam_to_light(
    seam: Annotated[Line, "seam", "as points in metres such as '0,4 9,4'"],
    window: Annotated[Line, "window", "such as '0,0 6,0'"],
) -> Worked:
    """How far light from a window strikes across a seam: 0 along, 90 straight across."""
    angle = layout.light_across_seam_deg(seam, window)
    runs, faces = heading_deg(seam), heading_deg(window) + 90
    steps: tuple[Step, ...] = ()
    if len(seam) == 2:
        turn = f"abs({put(runs)} − {put(faces)})"
        steps = (Step("across", f"min({turn} mod 180, 180 − {turn} mod 180)", angle, "°"),)
    glass = 90 - angle
    steps = (*steps, Step("to the glass", f"90 − {put(angle)}", glass, "°"))
    formula = (
        "across = acute angle of the seam's direction and the square to the window",
        "to the glass = 90 − across",
    )
    side = "across" if angle > 45 else "along"
    words = (
        f"light strikes {side} the seam, at {plain(angle, 3)}° to it; "
        f"the seam stands {plain(glass, 3)}° to the line of the glass"
    )
    return Worked(formula, steps, angle, "°", words, limits=("seam-light-angle",))


def pile_turn(
    one_deg: Annotated[float, "pile direction of one drop", "0 to the right, anticlockwise"],
    other_deg: Annotated[float, "pile direction of its neighbour"],
) -> Worked:
    """By how much the pile of two neighbours is turned."""
    turn = layout.pile_turn_deg(one_deg, other_deg)
    apart = f"abs({put(one_deg)} − {put(other_deg)}) mod 360"
    steps = (Step("turn", f"min({apart}, 360 − {apart})", turn, "°"),)
    word = layout.pile_word(one_deg, other_deg)
    formula = ("turn = lesser of the angle and 360 less the angle",)
    return Worked(formula, steps, turn, "°", f"{plain(turn, 4)}°: {word}", limits=("pile-turn",))


def _distance(name: str, one: Lab, other: Lab, value: float) -> Step:
    pairs = ((one.lightness, other.lightness), (one.a, other.a), (one.b, other.b))
    squares = " + ".join(f"({put(second)} − {put(first)}) ^ 2" for first, second in pairs)
    return Step(name, f"√({squares})", value)
