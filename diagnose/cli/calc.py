"""`diagnose calc`: one figure at a time, with its working shown.

Each command is made from the calculation's own signature: what an input is
called, its unit and its words stand there once.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

import typer

from diagnose.cli.screen import Screen, put_json
from diagnose.errors import InputError, Problem, StoreError
from diagnose.physics.colour import Lab, lab
from diagnose.physics.guard import OutOfRangeError
from diagnose.physics.lines import Line
from diagnose.physics.worked import CALCULATIONS
from diagnose.physics.working import Worked, plain
from diagnose.record.units import bare_name, converted, same_unit, unit_of, units_that_fit

app = typer.Typer(
    help="Work out one figure, with the working shown. A number may carry its unit: 68F, 0.3m, 1/8in.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)

_NUMBER = re.compile(r"\s*([+-]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?|[.,]\d+))\s*(.*?)\s*$")


def read_number(text: str, unit: str, option: str) -> float:
    """Return a number in `unit`; another unit of the same quantity is converted.

    Raises
    ------
    typer.BadParameter
        For text that is no number, or a unit of another quantity.

    Examples
    --------
    >>> read_number("68 °F", "°C", "--air"), read_number("1/8in", "mm", "--bead")
    (20.0, 3.175)
    >>> read_number("0,5", "m", "--length")
    0.5
    """
    found = _NUMBER.match(text)
    if not found:
        raise typer.BadParameter(f"{text!r} is not a number", param_hint=option)
    digits, written = found.groups()
    if re.search(r",\d{3}$", digits):
        raise typer.BadParameter(
            f"{text!r} can be read in two ways; write it with a point or without the comma",
            param_hint=option,
        )
    try:
        value = float(sum(Fraction(part.replace(",", ".")) for part in digits.split()))
    except ZeroDivisionError:
        raise typer.BadParameter(f"{text!r} divides by nought", param_hint=option) from None
    if not written or same_unit(written, unit):
        return value
    other = converted(value, written, unit)
    if other is None:
        allowed = ", ".join(units_that_fit(unit)) or "a number without a unit"
        raise typer.BadParameter(
            f"{written!r} is no unit for this; allowed is {allowed}", param_hint=option
        )
    return other


def read_colour(text: str, option: str) -> Lab:
    """Return a colour from text such as `50/2.6/-79.8`."""
    parts = [part for part in re.split(r"[/;\s]+", text.strip()) if part]
    if len(parts) != 3:
        raise typer.BadParameter(
            f"{text!r} is not a colour; write L*, a* and b* as 50/2.6/-79.8", param_hint=option
        )
    return lab(*(read_number(part, "", option) for part in parts))


def read_line(text: str, option: str) -> tuple[tuple[float, float], ...]:
    """Return a line of the plan from text such as `0,4 9,4`."""
    points = []
    for pair in text.split():
        try:
            x, y = (float(part) for part in pair.split(","))
        except ValueError:
            raise typer.BadParameter(
                f"{text!r} is not a line; write its points in metres as 0,4 9,4", param_hint=option
            ) from None
        points.append((x, y))
    return tuple(points)


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a calculation, as its signature describes it."""

    name: str
    label: str
    example: str
    kind: Any
    unit: str
    default: Any
    required: bool

    @property
    def positional(self) -> bool:
        """Say whether it stands without an option: required, and no number with a unit."""
        return self.required and not (self.kind is float and self.unit)

    @property
    def option(self) -> str:
        """The word a person writes, such as `--air`."""
        word = bare_name(self.name).replace(" ", "-").replace("_", "-")
        return word if self.positional else f"--{word}"

    def parameter(self) -> inspect.Parameter:
        """Return the parameter of the command: an argument or an option."""
        written: Any = str
        if get_origin(self.kind) is Literal or self.kind in (bool, int):
            written = self.kind
        elif self.kind == tuple[float, ...]:
            written = list[str]
        text = ", ".join(part for part in (self.label, self.unit and f"in {self.unit}") if part)
        text = f"{text}, {self.example}" if self.example else text
        if self.positional:
            info: Any = typer.Argument(
                help=text, metavar=None if get_origin(self.kind) is Literal else self.option.upper()
            )
            return _keyword(self.name, Annotated[written, info])
        metavar = self.unit if written is str and self.unit else None
        if self.required:
            return _keyword(
                self.name, Annotated[written, typer.Option(self.option, help=text, metavar=metavar)]
            )
        if self.kind is bool:
            return _keyword(self.name, Annotated[bool, typer.Option(self.option, help=text)], False)
        if self.default is not None:
            text = f"{text}; {_shown(self.default, '')} if not given"
        info = typer.Option(self.option, help=text, metavar=metavar)
        return _keyword(self.name, Annotated[written | None, info], None)

    def read(self, given: Any) -> Any:
        """Return what the calculation takes from what the person wrote."""
        if given is None:
            return self.default
        if self.kind is float:
            return read_number(given, self.unit, self.option)
        if self.kind == tuple[float, ...]:
            return tuple(read_number(text, self.unit, self.option) for text in given)
        if self.kind is Lab:
            return read_colour(given, self.option)
        return read_line(given, self.option) if self.kind == Line else given


def inputs_of(function: Callable[..., Worked]) -> tuple[Input, ...]:
    """Return the inputs of a calculation in the order of its signature."""
    hints = get_type_hints(function, include_extras=True)
    found = []
    for parameter in inspect.signature(function).parameters.values():
        kind, label, *example = get_args(hints[parameter.name])
        if type(None) in get_args(kind):
            kind = next(part for part in get_args(kind) if part is not type(None))
        required = parameter.default is inspect.Parameter.empty
        found.append(
            Input(
                parameter.name,
                label,
                "".join(example),
                kind,
                unit_of(parameter.name) if kind in (float, tuple[float, ...]) else "",
                None if required else parameter.default,
                required,
            )
        )
    return tuple(found)


def _keyword(
    name: str, annotation: Any, default: Any = inspect.Parameter.empty
) -> inspect.Parameter:
    kind = inspect.Parameter.KEYWORD_ONLY
    return inspect.Parameter(name, kind, default=default, annotation=annotation)


def command_of(name: str, function: Callable[..., Worked]) -> Callable[..., None]:
    """Return a command that reads the inputs of a calculation and shows its working."""
    inputs = inputs_of(function)

    def command(as_json: bool, **given: Any) -> None:
        try:
            values = {each.name: each.read(given[each.name]) for each in inputs}
            worked = function(**values)
        except OutOfRangeError as error:
            hint = f"see diagnose calc {name} --help"
            raise InputError([Problem(None, str(error), hint)]) from None
        used = [(each, values[each.name]) for each in inputs if values[each.name] is not None]
        worked, limits = _with_limits(name, values, worked)
        if as_json:
            put_json(as_data(name, used, worked, limits))
        else:
            _show(as_rows(used, worked, limits))

    json_option = Annotated[bool, typer.Option("--json", help="Write data instead of text.")]
    parameters = [each.parameter() for each in inputs] + [_keyword("as_json", json_option, False)]
    shape: Any = command
    shape.__signature__ = inspect.Signature(parameters)
    shape.__annotations__ = {each.name: each.annotation for each in parameters}
    shape.__doc__ = inspect.getdoc(function)
    return command


def _with_limits(
    name: str, values: Mapping[str, Any], worked: Worked
) -> tuple[Worked, list[dict[str, Any]]]:
    """Return the limits that the rules hold for a result; a note where they are not there."""
    if not worked.limits:
        return worked, []
    from diagnose.cli.calc_limits import judged, limits_of

    known = {**values, **{step.name: step.value for step in worked.steps}, "result": worked.result}
    try:
        return worked, judged(name, limits_of(worked.limits, dict(worked.when)), known)
    except StoreError:
        note = "The rules are not there, so no limits are shown."
        return replace(worked, notes=(*worked.notes, note)), []


def as_rows(
    used: list[tuple[Input, Any]], worked: Worked, limits: list[dict[str, Any]]
) -> list[tuple[str, str]]:
    """Return the working as rows of a head and a text: result first, then how it came about."""
    rows = [("result", worked.words)]
    rows += [("given", f"{each.label}: {_shown(value, each.unit)}") for each, value in used]
    rows += [("formula", line) for line in worked.formula]
    rows += [("put in", str(step)) for step in worked.steps]
    rows += [("method", str(bound)) for bound in worked.bounds]
    rows += [("limit", figure["words"]) for figure in limits]
    rows += [("note", note) for note in worked.notes]
    return rows


def _show(rows: list[tuple[str, str]]) -> None:
    screen, before = Screen(), ""
    for head, text in rows:
        screen.text(text, mark=f"{head if head != before else '':<8}")
        before = head


def as_data(
    name: str, used: list[tuple[Input, Any]], worked: Worked, limits: list[dict[str, Any]]
) -> Mapping[str, Any]:
    """Return the working as plain data for `--json`."""
    return {
        "calculation": name,
        "inputs": {
            each.name: asdict(value) if isinstance(value, Lab) else value for each, value in used
        },
        "formula": list(worked.formula),
        "working": [str(step) for step in worked.steps],
        "result": worked.result,
        "unit": worked.unit,
        "words": worked.words,
        "method": [asdict(bound) for bound in worked.bounds],
        "limits": limits,
        "notes": list(worked.notes),
    }


def _shown(value: Any, unit: str) -> str:
    if isinstance(value, Lab):
        return " / ".join(plain(part) for part in (value.lightness, value.a, value.b))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple) and value and isinstance(value[0], tuple):
        return " ".join(f"{plain(x)},{plain(y)}" for x, y in value)
    if isinstance(value, tuple):
        return "; ".join(_shown(part, unit) for part in value)
    text = plain(value) if isinstance(value, float) else str(value)
    return f"{text} {unit}" if unit else text


for _name, _function in CALCULATIONS.items():
    app.command(_name, short_help=inspect.getdoc(_function))(command_of(_name, _function))
