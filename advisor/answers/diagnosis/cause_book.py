"""The causes, words, tests and figures of a diagnosis as frozen records; it works nothing out."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from advisor.base import frozen
from advisor.data import artifact
from advisor.expression import Compiled

if TYPE_CHECKING:
    from advisor.data import Row

__all__ = [
    "ARTIFACTS",
    "Cause",
    "CauseBook",
    "CauseChange",
    "CauseExample",
    "Circumstance",
    "Questions",
    "Reading",
    "ReadingQuestion",
    "SeenWhere",
    "SeenWord",
    "SideQuantity",
    "TrialRow",
    "book_of",
    "load_causes",
]  # fmt: skip


@frozen
class CauseChange:
    """How one fact differs: ``times``, ``plus`` or ``is``, with low, typical and high in SI.

    ``of``: the ends are shares of what this gives on the machine. Where it is not known the ends
    are ``otherwise``, or nothing is changed.
    """

    fact: str
    how: str
    ends: tuple[float, float, float]
    of: Compiled | None = None
    otherwise: tuple[float, float, float] | None = None


@frozen
class SeenWhere:
    """What is seen where a condition holds; `at` empty: in each circumstance that has a flow."""

    sees: tuple[str, ...]
    at: tuple[str, ...]
    condition: Compiled | None
    chance: float


@frozen
class Circumstance:
    """When something is seen; ``flow`` gives the flow then."""

    name: str
    title: str
    aliases: tuple[str, ...]
    flow: Compiled | None


@frozen
class SeenWord:
    """A word for what is seen."""

    name: str
    title: str
    aliases: tuple[str, ...]
    event: str
    ask: str
    shows: tuple[SeenWhere, ...]
    first: str | None
    forbids: tuple[str, ...]
    follows: Mapping[str, float]


@frozen
class SideQuantity:
    """A quantity beside the facts: a band of its own in SI, or the first known expression.

    ``sound``: the expression is worked out on the machine without any cause.
    """

    name: str
    unit: str
    about: str
    ends: tuple[float, float, float] | None
    codes: tuple[Compiled, ...]
    sound: bool


@frozen
class CauseExample:
    """What people would say of a cause; one of its first `among` it must be."""

    sees: tuple[str, ...]
    sees_not: tuple[str, ...]
    did: tuple[str, ...]
    measured: Mapping[str, str]
    stated: Mapping[str, object]
    among: int


@frozen(kw_only=True)
class Cause:
    """A cause: what it changes, what it shows, and what helps."""

    name: str
    title: str
    family: str
    grade: int
    applies: Compiled | None
    changes: tuple[CauseChange, ...]
    shows: tuple[SeenWhere, ...]
    gone: Mapping[str, float]
    remedy: str
    shares: str  # causes with the same thing to do have it in common
    raises: tuple[str, ...]
    instead: str | None
    hides: tuple[str, ...]
    itself: tuple[SeenWhere, ...]
    likelier: tuple[tuple[Compiled, float], ...]
    hazards: tuple[str, ...]
    confirm: str
    source: str
    examples: tuple[CauseExample, ...]
    place: str


@frozen
class Reading:
    """What a measuring test may read, and what that would mean."""

    word: str
    condition: Compiled
    means: str


@frozen(kw_only=True)
class TrialRow:
    """A test: what to do, what it changes, and how its outcomes are told."""

    name: str
    title: str
    do: str
    risk: int
    minutes: float
    hazards: tuple[str, ...]
    applies: Compiled | None
    changes: tuple[CauseChange, ...]
    words: tuple[str, ...]
    not_words: tuple[str, ...]
    whens: tuple[str, ...]
    others: float
    likely: tuple[Compiled, float] | None
    look: str | None
    reads: str | None
    readings: tuple[Reading, ...]
    raises: tuple[str, ...]
    means: Mapping[str, str]


@frozen(kw_only=True)
class ReadingQuestion:
    """What may have been measured, as `diagnose --interactive` asks for it."""

    name: str
    ask: str
    find: str
    gives: str
    form: str
    unit: str
    usual: tuple[float, float]
    predicts: Compiled
    such: str
    words: tuple[str, ...]
    effort: float


@frozen(kw_only=True)
class Questions:
    """What is asked beside the words; `which` and `also` as in rules/causes/questions.yaml."""

    effort: float
    which: Mapping[str, tuple[str, str]]  # what is asked, and the other word
    also: Mapping[str, str]
    readings: tuple[ReadingQuestion, ...]


@frozen
class CauseBook:
    """All of rules/causes/."""

    numbers: Mapping[str, float]
    cautions: Mapping[str, str]
    quantities: tuple[SideQuantity, ...]
    assume: Mapping[str, tuple[float, float, float]]
    teeth: tuple[tuple[int, int], ...]  # of pairs of gears, the driven one first
    whens: Mapping[str, Circumstance]
    words: Mapping[str, SeenWord]
    tests: Mapping[str, TrialRow]
    causes: tuple[Cause, ...]
    families: Mapping[str, str]  # what several causes of one are told as
    questions: Questions

    def cautions_of(self, hazards: tuple[str, ...]) -> tuple[str, ...]:
        """Return the cautions of hazards."""
        return tuple(self.cautions[name] for name in hazards)


def build() -> Row:
    """Return the compiled causes: the artifact ``causes``."""
    from advisor.answers.diagnosis.cause_rows import build_causes

    return build_causes()


@functools.cache
def load_causes() -> CauseBook:
    """Return all of rules/causes/; it is read once.

    Raises
    ------
    DataError
        If a file there has a mistake in it.
    """
    return book_of(artifact("causes", build))


def book_of(rows: Row) -> CauseBook:
    """Return the records of the compiled rows."""
    quantities = rows["quantities"].items()
    return CauseBook(
        numbers=rows["numbers"],
        cautions=rows["cautions"],
        quantities=tuple(_quantity(name, row) for name, row in quantities),
        assume={name: _three(ends) for name, ends in rows["assume"].items()},
        teeth=tuple((driven, driving) for driven, driving in rows["teeth"]),
        whens={name: _when(name, row) for name, row in rows["whens"].items()},
        words={name: _word(name, row) for name, row in rows["words"].items()},
        tests={name: _test(name, row) for name, row in rows["tests"].items()},
        causes=tuple(_cause(row) for row in rows["causes"]),
        families=rows["families"],
        questions=_questions(rows["questions"]),
    )


def _code(row: Row, key: str) -> Compiled | None:
    return Compiled.from_json(row[key]) if key in row else None


def _three(ends: list[float]) -> tuple[float, float, float]:
    low, typical, high = ends
    return low, typical, high


def _quantity(name: str, row: Row) -> SideQuantity:
    stored = row["is"] if "is" in row else row.get("sound", [])
    codes = tuple(Compiled.from_json(code) for code in stored)
    ends = _three(row["ends"]) if "ends" in row else None
    return SideQuantity(name, row["unit"], row["about"], ends, codes, "sound" in row)


def _when(name: str, row: Row) -> Circumstance:
    return Circumstance(name, row["title"], tuple(row["aliases"]), _code(row, "flow"))


def _word(name: str, row: Row) -> SeenWord:
    shows = tuple(_where(one, (name,)) for one in row["shows"])
    return SeenWord(name, row["title"], tuple(row["aliases"]), row["event"], row["ask"], shows,
                    row.get("first"), tuple(row.get("forbids", ())),
                    row.get("follows", {}))  # fmt: skip


def _where(row: Row, sees: tuple[str, ...]) -> SeenWhere:
    return SeenWhere(sees, tuple(row.get("at", ())), _code(row, "if"), row["p"])


def _change(row: Row) -> CauseChange:
    otherwise = _three(row["else"]) if "else" in row else None
    return CauseChange(row["fact"], row["how"], _three(row["ends"]), _code(row, "of"), otherwise)


def _changes(row: Row) -> tuple[CauseChange, ...]:
    return tuple(_change(one) for one in row.get("changes", ()))


def _test(name: str, row: Row) -> TrialRow:
    likely = row.get("likely")
    readings = row.get("outcomes", {}).items()
    return TrialRow(
        name=name,
        title=row["title"],
        do=" ".join(row["do"].split()),
        risk=row["risk"],
        minutes=row["minutes"],
        hazards=tuple(row["hazards"]),
        applies=_code(row, "applies"),
        changes=_changes(row),
        words=tuple(row.get("for", ())),
        not_words=tuple(row.get("not_for", ())),
        whens=tuple(row.get("for_at", ())),
        others=row.get("others", 0.0),
        likely=None if likely is None else (Compiled.from_json(likely["if"]), likely["p"]),
        look=row.get("look"),
        reads=row.get("reads"),
        readings=tuple(
            Reading(word, Compiled.from_json(one["if"]), one["means"]) for word, one in readings
        ),
        raises=tuple(row.get("raises", ())),
        means=row.get("means", {}),
    )


def _questions(row: Row) -> Questions:
    return Questions(
        effort=row["effort"],
        which={word: (one["ask"], one["or"]) for word, one in row["which"].items()},
        also=row["also"],
        readings=tuple(
            ReadingQuestion(
                name=name, ask=one["ask"], find=one["find"], gives=one["gives"],
                form=one.get("as", "{}"), unit=one["unit"],
                usual=(one["usual"][0], one["usual"][-1]),
                predicts=Compiled.from_json(one["predicts"]), such=one["such"],
                words=tuple(one.get("for", ())), effort=one["effort"],
            )
            for name, one in row["readings"].items()
        ),
    )  # fmt: skip


_LISTS = ("sees", "sees_not", "did")


def _example(row: Row) -> CauseExample:
    sees, sees_not, did = (tuple(row.get(name, ())) for name in _LISTS)
    measured: dict[str, Any] = {
        name: value for name, value in row.items() if name not in (*_LISTS, "with", "among")
    }
    return CauseExample(sees, sees_not, did, measured, row.get("with", {}), row.get("among", 3))


def _cause(row: Row) -> Cause:
    return Cause(
        name=row["name"],
        title=row["title"],
        family=row["family"],
        grade=row["grade"],
        applies=_code(row, "applies"),
        changes=_changes(row),
        shows=tuple(_where(one, tuple(one["sees"])) for one in row["shows"]),
        gone=row.get("gone", {}),
        remedy=row["remedy"],
        shares=row["shares"] if "shares" in row else row["remedy"],
        raises=tuple(row.get("raises", ())),
        instead=row.get("instead"),
        hides=tuple(row.get("hides", ())),
        itself=tuple(
            _where({**one, "p": 1.0}, tuple(one["sees"])) for one in row.get("itself", ())
        ),
        likelier=tuple(
            (Compiled.from_json(one["if"]), one["times"]) for one in row.get("likelier", ())
        ),
        hazards=tuple(row["hazards"]),
        confirm=row["confirm"],
        source=row["source"],
        examples=tuple(_example(one) for one in row["examples"]),
        place=f"{row['file']}:{row['line']}",
    )


ARTIFACTS: Mapping[str, Callable[[], object]] = {"causes": build}
