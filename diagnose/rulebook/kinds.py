"""The keys of every kind of rule file, in one table each.

The loader, the JSON Schemas and the manual all read these tables; nothing
else in the program knows which key a rule may have.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.model import PLACE_KINDS
from diagnose.rulebook import model
from diagnose.rulebook.fields import (
    AnswerRef,
    Choice,
    Facets,
    Id,
    ListOf,
    MapOf,
    Number,
    Ref,
    ScaleWord,
    Shape,
    Text,
    YesNo,
)
from diagnose.rulebook.model import AnswerRule, Damage
from diagnose.rulebook.records import Field, Record

SUPPORTS = ("stated", "inferred", "none")
SET_BY = ("contract-code", "code", "common-practice")
SURE = ("seen", "second-hand", "memory", "computed")
LOOKS_AT = ("spread", "seam", "drop", "edge", "doorway", "area", "roll", "lot", "reading", "job")
SOURCE_KINDS = (
    "standard",
    "code-of-practice",
    "guide",
    "article",
    "paper",
    "data-sheet",
    "non-source",
)
_PLACES = ListOf(Choice(PLACE_KINDS))


@dataclass(frozen=True, slots=True)
class _Enum:
    """A fixed word that becomes a member of an enumeration."""

    words: type[Damage] | type[AnswerRule]

    def read(self, node, log):  # type: ignore[no-untyped-def]
        return self.words(Choice(tuple(self.words)).read(node, log))

    def schema(self) -> dict[str, object]:
        return {"enum": [str(word) for word in self.words]}


def _refs(*kinds: str) -> ListOf:
    return ListOf(Ref(kinds))


def _weights(kind: str, *scales: str) -> MapOf:
    return MapOf(Ref((kind,)), ScaleWord(scales[0], also=scales[1:]))


CITE = Record(
    "source",
    model.Cite,
    (
        Field("ref", Ref(("source",)), "id in sources.yaml", "source"),
        Field("clause", Text(blank=True), "clause, page or section", default=""),
        Field("support", Choice(SUPPORTS), "how far the source says so", default="inferred"),
        Field("note", Text(blank=True), "what a reader of the source should know", default=""),
    ),
)
_ID = Field("id", Id(), "spelled-out words joined by hyphens; never changes its meaning")
_NAME = Field("name", Text(), "name in trade words")
_SOURCES = Field(
    "sources", ListOf(CITE), "where the rule is from, or that it has no source", default=()
)
_CAUTIONS = Field("cautions", _refs("caution"), "hazards to show before the step", default=())
_APPLIES = Field("applies", Facets(), "floors it holds for; left out: every floor", default={})


def _optional(key: str, means: str, shape: Shape | None = None, to: str = "") -> Field:
    return Field(key, shape or Text(blank=True), means, to, default="")


SOURCE = Record(
    "source",
    model.Source,
    (
        _ID,
        Field("title", Text(), "title as printed"),
        Field("year", Text(), "year of the edition"),
        Field("kind", Choice(SOURCE_KINDS), "what sort of text it is"),
        Field("edition", Text(blank=True), "edition or version", default=""),
        Field("read_as", Text(), "how it was read: whole text, extract, from memory"),
        _optional("code", "name by which a contract can call it"),
        _optional("address", "where it can be found"),
        _optional("note", "what a reader should know"),
    ),
)
SYMPTOM = Record(
    "symptom",
    model.Symptom,
    (
        _ID,
        _NAME,
        Field("looks_like", Text(), "what is seen, in plain words"),
        Field("shows_at", ListOf(Choice(PLACE_KINDS), least=1), "kinds of place where it shows"),
        Field("where", Text(), "where it shows, in words"),
        _APPLIES,
        Field("measure", Text(), "how it is measured"),
        Field("tolerance", Text(), "what is allowed"),
        _optional("normal", "what is normal and no fault"),
        Field("taken_for", _refs("symptom", "cause"), "what it is mistaken for", default=()),
        Field("make_safe", _refs("remedy"), "remedies that make the place safe", default=()),
        _CAUTIONS,
        _SOURCES,
    ),
)
CAUSE = Record(
    "cause",
    model.Cause,
    (
        _ID,
        _NAME,
        _APPLIES,
        Field("happened", Text(), "what was done or happened"),
        Field("mechanism", Text(), "why that gives the symptom"),
        Field("how_common", ScaleWord("how_common"), "how often it is met"),
        Field("answers_for", Text(), "who is usually asked to explain"),
        Field("on_record", Text(blank=True), "what the install record would show", default=""),
        Field("remedies", _refs("remedy"), "what to do about it", default=()),
        Field("prevention", Text(blank=True), "how it is avoided next time", default=""),
        _CAUTIONS,
        _optional("kind_of", "wider cause that this is a kind of", Ref(("cause",), blank=True)),
        _SOURCES,
    ),
)
LINK = Record(
    "link",
    model.Link,
    (
        Field("cause", Ref(("cause",)), "cause that gives the symptom"),
        Field("shows", Ref(("symptom",)), "symptom that it gives", "symptom"),
        Field("strength", ScaleWord("link_strength"), "how often it gives it"),
        Field("because", Text(), "why, in one sentence"),
        _APPLIES,
        Field("at", _PLACES, "kinds of place; left out: wherever it shows", "shows_at", ()),
        _SOURCES,
    ),
)
ACT = Record(
    "act",
    model.Act,
    (
        _ID,
        _NAME,
        Field("how", Text(), "how it is done"),
        Field("minutes", Number(), "minutes it takes, paid once"),
        Field("tools", ListOf(Text()), "tools needed", default=()),
        Field("damage", _Enum(Damage), "what it does to the floor"),
        Field("consent", YesNo(), "whether the owner has to agree first"),
        _CAUTIONS,
        Field("together", YesNo(), "whether its answers hang together", default=False),
        _optional("put_back", "how the floor is made good afterwards"),
        _SOURCES,
    ),
)
ANSWER = Record(
    "answer",
    model.Answer,
    (
        _ID,
        Field("text", Text(), "the answer in plain words"),
        Field("for", _weights("cause", "answer_for"), "causes it speaks for", "speaks_for", {}),
        Field(
            "against",
            _weights("cause", "answer_against"),
            "causes it speaks against",
            "speaks_against",
            {},
        ),
        Field("usual", YesNo(), "whether a sound floor gives it", default=False),
        Field("alone", YesNo(), "whether no other answer can be ticked beside it", default=False),
        _optional("means", "what seeing it tells a learner"),
        Field(
            "age_days",
            ListOf(Number(), least=2, most=2),
            "age of the floor, from and below, at which the record gives this answer",
            default=(),
        ),
        Field(
            "recorded",
            MapOf(Text(), ListOf(Text(), least=1)),
            "field of the record at the place, and the values that give this answer",
            default={},
        ),
    ),
)
QUESTION = Record(
    "question",
    model.Question,
    (
        _ID,
        Field("ask", Text(), "the question in plain words"),
        _optional("help", "how to look or ask"),
        Field("group", Text(), "topic it belongs to"),
        Field("rule", _Enum(AnswerRule), "how causes act together on the answer"),
        Field("act", Ref(("act",), also=("ask",)), "act that opens it, or ask"),
        Field("minutes", Number(), "minutes it takes once the act is done"),
        Field("who", ListOf(Text()), "who can answer", default=()),
        Field("at", _PLACES, "kinds of place; left out: any", "asks_at", ()),
        _APPLIES,
        Field("answers", ListOf(ANSWER, least=1), "answers; in a graded question the least first"),
        Field("settled_by", _refs("check"), "checks that make it needless", default=()),
        _SOURCES,
    ),
)
LOOK_ALIKE = Record(
    "look-alike",
    model.LookAlike,
    (
        _ID,
        Field("symptom", Ref(("symptom",)), "symptom that both are blamed for"),
        Field("cause", Ref(("cause",)), "the cause"),
        Field("taken_for", Ref(("cause",)), "the cause it is taken for"),
        Field("gives_it", YesNo(), "whether the second gives the symptom too"),
        Field("separates", Text(), "the one observation that parts them"),
        Field("questions", _refs("question"), "questions that ask for it", default=()),
        _SOURCES,
    ),
)
TEACHING = Record(
    "teaching point",
    model.TeachingPoint,
    (
        _ID,
        Field("heard", Text(), "what is heard on site"),
        Field("better", Text(), "what is nearer the truth"),
        Field(
            "about",
            _refs("symptom", "cause", "question", "check", "limit", "act", "remedy", "caution"),
            "ids it is about",
        ),
        _SOURCES,
    ),
)
REMEDY = Record(
    "remedy",
    model.Remedy,
    (
        _ID,
        _NAME,
        Field("steps", ListOf(Text()), "what to do, step by step", default=()),
        Field("make_safe", YesNo(), "whether it makes a place safe at once", default=False),
        Field("damage", _Enum(Damage), "what it does to the floor", default=Damage.NONE),
        _CAUTIONS,
        _SOURCES,
    ),
)
CAUTION = Record(
    "caution",
    model.Caution,
    (
        _ID,
        _NAME,
        Field("text", Text(), "the hazard and what to do, in plain words"),
        Field(
            "defer_to", Text(blank=True), "code or licensed practice with the last word", default=""
        ),
        _APPLIES,
        _SOURCES,
    ),
)
LIMIT_VALUE = Record(
    "limit value",
    model.LimitValue,
    (
        Field("low", Number(signed=True), "least value allowed", default=None),
        Field("high", Number(signed=True), "greatest value allowed", default=None),
        Field("set_by", Choice(SET_BY), "who set it"),
        _optional("code", "contract code under which it applies"),
        Field("when", MapOf(Text(), ListOf(Text(), least=1)), "what it holds for", default={}),
        Field("sure", Choice(SURE), "how the figure was read"),
        Field("source", CITE, "source with clause", "cite"),
    ),
)
LIMIT = Record(
    "limit",
    model.Limit,
    (
        _ID,
        _NAME,
        Field("quantity", Text(), "what is measured"),
        Field("unit", Text(), "unit of every value"),
        _optional("note", "what a reader should know"),
        Field("values", ListOf(LIMIT_VALUE, least=1), "figures, one a source"),
    ),
)
CHECK = Record(
    "check",
    model.Check,
    (
        _ID,
        _NAME,
        Field("calculation", Text(), "name of the calculation"),
        Field("looks_at", Text(), "kind of part it looks at"),
        _optional("limit", "limit it compares with", Ref(("limit",), blank=True)),
        Field("more_limits", _refs("limit"), "further limits its calculation uses", default=()),
        Field(
            "options", MapOf(Text(), Text(blank=True)), "settings of the calculation", default={}
        ),
        Field("backs", _weights("cause", "check_backs"), "causes a deviation speaks for"),
        _APPLIES,
        Field("needs", ListOf(Text()), "record entries it needs", default=()),
        _optional("put_right", "what can still be done before leaving"),
        Field("put_right_minutes", Number(), "minutes that takes", default=0.0),
        _optional("record_now", "what to write down now"),
        _CAUTIONS,
        _SOURCES,
    ),
)
MECHANISM = Record(
    "mechanism",
    model.Mechanism,
    (
        _ID,
        _NAME,
        Field("brought_about_by", _weights("cause", "link_strength"), "causes and strength"),
        Field("answers", MapOf(AnswerRef(), ScaleWord("answer_for")), "answers that show it"),
        _SOURCES,
    ),
)
INSEPARABLE = Record(
    "inseparable pair",
    model.Inseparable,
    (
        Field("symptom", Ref(("symptom",)), "symptom that both give"),
        Field("causes", ListOf(Ref(("cause",)), least=2, most=2), "the two causes"),
        Field("reason", Text(), "why nothing can tell them apart"),
    ),
)
ABBREVIATION = Record(
    "abbreviation",
    model.Abbreviation,
    (
        Field("short", Text(), "the short form, as the rules write it"),
        Field("long", Text(), "what it stands for, in plain words"),
    ),
)


@dataclass(frozen=True, slots=True)
class RuleKind:
    """One kind of rule: key at the top of its files, and the shape of an item."""

    key: str
    """Top key, and attribute of `Rules`."""
    place: str
    """Name of its file without ending, or of its folder."""
    record: Record
    word: str
    """What one item is called in messages and references."""
    staged: bool = False
    """Whether the file's name is the stage of what is in it."""

    def for_stage(self, stage: str) -> Record:
        """Return the record with the stage filled in for kinds that have one."""
        has_stage = self.word in ("cause", "check")
        return replace(self.record, fixed={"stage": stage}) if has_stage else self.record


KINDS: tuple[RuleKind, ...] = (
    RuleKind("sources", "sources", SOURCE, "source"),
    RuleKind("cautions", "cautions", CAUTION, "caution"),
    RuleKind("remedies", "remedies", REMEDY, "remedy"),
    RuleKind("symptoms", "symptoms", SYMPTOM, "symptom"),
    RuleKind("causes", "causes", CAUSE, "cause", staged=True),
    RuleKind("links", "links", LINK, "link"),
    RuleKind("acts", "acts", ACT, "act"),
    RuleKind("questions", "questions", QUESTION, "question"),
    RuleKind("checks", "checks", CHECK, "check", staged=True),
    RuleKind("limits", "limits", LIMIT, "limit"),
    RuleKind("look_alikes", "look-alikes", LOOK_ALIKE, "look-alike"),
    RuleKind("teaching", "teaching", TEACHING, "teaching point"),
    RuleKind("mechanisms", "mechanisms", MECHANISM, "mechanism"),
    RuleKind("abbreviations", "abbreviations", ABBREVIATION, "abbreviation"),
    RuleKind("inseparable", "inseparable", INSEPARABLE, "inseparable pair"),
)
KIND_BY_PLACE: Mapping[str, RuleKind] = {kind.place: kind for kind in KINDS}
