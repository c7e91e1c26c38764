"""Reads rules/causes/ and checks it: the causes, words, tests and figures of a diagnosis.

Runs when the package is built, or where a file was edited since; what it makes is plain JSON, which
`cause_book` turns into records. The syntax of each file is explained at its head.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, TypeAlias

from advisor.base import InputError, near_miss, parse_unit
from advisor.catalog import load_catalog
from advisor.data import Node, Row, data_files, read_node, read_text, schema as s
from advisor.expression import compile_expression

if TYPE_CHECKING:
    from advisor.data import Kind
    from advisor.expression import Vocabulary

__all__ = ["FLOW", "MEASURES", "build_causes", "compiled_causes"]

Texts: TypeAlias = Mapping[str, str]
"""The files of rules/causes/ by name."""

FLOW = "ask.flow"  # the flow in a circumstance, in conditions
MEASURES = ("fed", "case", "after", "pull", "clicks_at", "holds", "nozzle_falls_to")
_OTHERS = ("cautions.yaml", "families.yaml", "numbers.yaml", "quantities.yaml",
           "questions.yaml", "tests.yaml", "words.yaml")  # fmt: skip
_HEADS = {name.removesuffix(".yaml"): name for name in _OTHERS}
_HOLE = re.compile(r"\{([^{}]*)\}")
_RAISES = ("current", "temperature")
_SHARE = s.number(at_least=0, at_most=1)


def build_causes() -> Row:
    """Return all of rules/causes/ as JSON types: the artifact ``causes``."""
    paths = data_files("rules", "causes/*.yaml")
    return compiled_causes({path.name: read_text("rules", f"causes/{path.name}") for path in paths})


def compiled_causes(texts: Texts) -> Row:
    """Return the files of rules/causes/, given by name, as JSON types.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    return _Reader(texts).read()


class _Reader:
    """Reads the files one after the other; each knows the names of those before it."""

    def __init__(self, texts: Texts) -> None:
        catalog = load_catalog()
        self.texts, self.sources = texts, catalog.sources
        self.units: dict[str, str] = {
            name: info.unit for name, info in catalog.facts.items() if info.type == "number"
        }
        self.vocabulary: Vocabulary = dict(catalog.facts)
        self.teeth: list[list[int]] = []
        self.whens: tuple[str, ...] = ()
        self.words: tuple[str, ...] = ()
        self.tests: tuple[str, ...] = ()
        self.hazards: tuple[str, ...] = ()

    def read(self) -> Row:
        made: Row = {"numbers": self._numbers(), "cautions": self._cautions()}
        made["quantities"], made["assume"] = self._quantities()
        made["teeth"] = self.teeth
        made["whens"], made["words"] = self._words()
        made["tests"] = self._tests()
        made["questions"] = self._questions()
        made["causes"] = self._causes()
        known = {row["family"] for row in made["causes"]}
        named = s.names(s.text, known=known, what="family of a cause")
        made["families"] = named(self._node("families"))
        return made

    def _node(self, head: str) -> Node:
        name = _HEADS[head]
        return read_node(self.texts.get(name, ""), f"rules/causes/{name}")

    def _numbers(self) -> Row:
        one = s.row(
            {"value": s.number(), "unit": s.unit(), **s.sourced(self.sources)}, {"about": s.text}
        )
        in_si = s.checked(one, lambda _, row: float(parse_unit(row["unit"]).to_si(row["value"])))
        return s.names(in_si)(self._node("numbers"))

    def _cautions(self) -> Row:
        made = s.names(s.text)(self._node("cautions"))
        self.hazards = tuple(made)
        return {name: " ".join(text.split()) for name, text in made.items()}

    def _quantities(self) -> tuple[Row, Row]:
        node = self._node("quantities")
        teeth = s.row({"pairs": s.listed(s.listed(s.whole)), **s.sourced(self.sources)})
        kinds = {"quantities": s.names(s.raw), "assume": s.names(s.raw), "teeth": teeth}
        parts = s.row(kinds)(node)
        self.teeth = parts["teeth"]["pairs"]
        ends = {name: s.number() for name in ("low", "typical", "high")}
        made: Row = {}
        for name in parts["quantities"]:
            one = node.into("quantities", name)
            kind = s.row(
                {"unit": s.unit(), "about": s.text, **s.sourced(self.sources)},
                {**ends, "is": s.listed(s.text, least=1), "sound": s.listed(s.text, least=1)},
                one=("low", "is", "sound"),
            )
            made[name] = self._quantity(one, kind(one))
            self._known(name, made[name]["unit"])
        assumed = s.row({**ends, "unit": s.unit(), **s.sourced(self.sources)})
        known = s.names(assumed, known=self.units, what="fact")(node.into("assume"))
        self._known(FLOW, "mm3/s")
        return made, {name: _ends_in_si(row) for name, row in known.items()}

    def _quantity(self, node: Node, row: Row) -> Row:
        made: Row = {"unit": row["unit"], "about": row["about"]}
        if "low" in row:
            if not {"typical", "high"} <= row.keys():
                raise node.wrong("has no typical or no high", "give low, typical and high")
            return {**made, "ends": _ends_in_si(row)}
        kind = "is" if "is" in row else "sound"
        texts = enumerate(row[kind])
        return {
            **made,
            kind: [self._code(node.into(kind, place), text, row["unit"]) for place, text in texts],
        }

    def _known(self, name: str, unit: str) -> None:
        self.units[name] = unit
        self.vocabulary = {**self.vocabulary, name: unit}

    def _code(self, node: Node, text: str, expected: str) -> object:
        at = node.placed.at(*node.path)
        return compile_expression(
            " ".join(text.split()), self.vocabulary, expected=expected, at=at
        ).to_json()

    def _condition(self, node: Node) -> object:
        return self._code(node, s.text(node), "condition")

    # --- words and circumstances ---------------------------------------------------------

    def _words(self) -> tuple[Row, Row]:
        node = self._node("words")
        aliases = s.listed(s.text)
        when = s.row(
            {"title": s.text, "aliases": aliases},
            {"flow": lambda one: self._code(one, s.text(one), "mm3/s")},
        )
        parts = s.row({"whens": s.names(when), "words": s.names(s.raw)})(node)
        self.whens, self.words = tuple(parts["whens"]), tuple(parts["words"])
        show = s.row({"if": self._condition, "p": _SHARE}, {"at": self._listed_whens()})
        word = s.row(
            {"title": s.text, "aliases": aliases, "event": s.text, "ask": s.text,
             "shows": s.listed(show)},
            {"first": s.text, "forbids": s.listed(s.word(_RAISES)),
             "follows": s.names(_SHARE, known=tuple(parts["words"]), what="word")},
        )  # fmt: skip
        words = s.names(word)(node.into("words"))
        self._check_aliases(node, "whens", parts["whens"])
        self._check_aliases(node, "words", words)
        self._check_follows(node, words)
        return parts["whens"], words

    def _listed_whens(self) -> Kind[list[str]]:
        return s.listed(s.word(self.whens, "circumstance"), least=1)

    def _check_aliases(self, node: Node, part: str, rows: Row) -> None:
        """Hold each alias to one name."""
        seen = {name: name for name in rows}
        for name, row in rows.items():
            for place, alias in enumerate(row["aliases"]):
                other = seen.setdefault(alias, name)
                if other != name:
                    one = node.into(part, name, "aliases", place)
                    raise one.wrong(f"is '{alias}', which says '{other}'", "take one of them away")

    def _check_follows(self, node: Node, words: Row) -> None:
        """Hold 'follows' to other words."""
        for name, row in words.items():
            if name in row.get("follows", {}):
                one = node.into("words", name, "follows", name)
                raise one.wrong("follows itself", "leave it out")

    # --- tests ---------------------------------------------------------------------------

    def _tests(self) -> Row:
        node = self._node("tests")
        self.tests = tuple(s.names(s.raw)(node))
        outcome = s.row({"if": self._condition, "means": s.text})
        likely = s.row({"if": self._condition, "p": _SHARE})
        test = s.row(
            {"title": s.text, "do": s.text, "risk": s.whole, "minutes": s.number(above=0),
             "hazards": self._hazards()},
            {"applies": self._condition, "changes": s.listed(self._change),
             "for": s.listed(s.word(self.words, "word")),
             "not_for": s.listed(s.word(self.words, "word")), "others": _SHARE, "likely": likely,
             "for_at": s.listed(s.word((*self.whens, ""), "circumstance")), "look": s.text,
             "reads": s.text, "outcomes": s.names(outcome), "raises": s.listed(s.word(_RAISES)),
             "means": s.row({"gone": s.text, "same": s.text})},
        )  # fmt: skip
        return s.names(s.checked(test, _told_or_read))(node)

    def _hazards(self) -> Kind[list[str]]:
        remedy = "write its caution in rules/causes/cautions.yaml"
        return s.listed(s.word(self.hazards, "hazard", remedy))

    def _change(self, node: Node) -> Row:
        ends = s.listed(s.number())
        row = s.row({"fact": s.word(self.units, "fact, or no number", "see rules/facts.yaml")},
                    {"times": ends, "plus": ends, "is": ends, "unit": s.unit(), "of": s.text,
                     "else": ends},
                    one=("times", "plus", "is"))(node)  # fmt: skip
        how = next(word for word in ("times", "plus", "is") if word in row)
        values = _band(node, row, how)
        if how != "times" and "of" not in row:
            values = self._in_si(node, row, how, values)
        made: Row = {"fact": row["fact"], "how": how, "ends": values}
        return {**made, **self._of(node, row, how)} if "of" in row or "else" in row else made

    def _of(self, node: Node, row: Row, how: str) -> Row:
        """Return what the ends of a change are shares of, and the ends where that is not known."""
        if "of" not in row:
            raise node.wrong("has 'else' without 'of'", "add what the ends are shares of, or leave "
                             "'else' out")  # fmt: skip
        if how == "plus":
            raise node.wrong("has 'plus' with 'of'", "shares go with 'is' and 'times'")
        due = "-" if how == "times" else self.units[row["fact"]]
        made: Row = {"of": self._code(node.into("of"), row["of"], due)}
        if "else" not in row:
            return made
        values = _band(node, row, "else")
        return {**made, "else": values if how == "times" else self._in_si(node, row, how, values)}

    def _in_si(self, node: Node, row: Row, how: str, values: list[float]) -> list[float]:
        due = self.units[row["fact"]]
        due = "K" if how == "plus" and due == "degC" else due
        if "unit" not in row:
            raise node.wrong("has no unit", f"add 'unit: {due}'")
        s.unit(due, row["fact"])(node.into("unit"))
        try:
            return [float(parse_unit(row["unit"]).to_si(value)) for value in values]
        except InputError as err:
            raise node.into("unit").wrong(f"cannot be: {err.problem}", err.remedy) from None

    # --- questions -----------------------------------------------------------------------

    def _questions(self) -> Row:
        words = s.listed(s.word(self.words, "word"), least=1)
        which = s.row({"ask": s.text, "or": s.word(self.words, "word")})
        reading = s.row(
            {"ask": s.text, "find": s.text, "gives": s.word(MEASURES), "unit": s.unit(),
             "usual": s.listed(s.number(above=0), least=2), "predicts": s.text, "such": s.text,
             "effort": s.number(above=0)},
            {"as": s.text, "for": words},
        )  # fmt: skip
        return s.row({
            "effort": s.number(above=0),
            "which": s.names(which, known=self.words, what="word"),
            "also": s.names(s.text, known=self.whens, what="circumstance"),
            "readings": s.names(s.checked(reading, self._predicted)),
        })(self._node("questions"))  # fmt: skip

    def _predicted(self, node: Node, row: Row) -> Row:
        return {**row, "predicts": self._code(node.into("predicts"), row["predicts"], row["unit"])}

    # --- causes --------------------------------------------------------------------------

    def _causes(self) -> list[Row]:
        made: list[Row] = []
        for name in sorted(set(self.texts) - set(_OTHERS)):
            node = read_node(self.texts[name], f"rules/causes/{name}")
            made += s.listed(self._cause, least=1, first="name", what="causes")(node)
        seen: set[str] = set()
        for row in made:
            if row["name"] in seen:
                raise node.wrong(f"has a second cause '{row['name']}'", "give it another name")
            seen.add(row["name"])
        return made

    def _cause(self, node: Node) -> Row:
        whens = self._listed_whens()
        show = s.row(
            {"sees": s.listed(s.word(self.words, "word"), least=1), "p": _SHARE},
            {"at": whens, "if": self._condition},
        )
        itself = s.row({"sees": s.listed(s.word(self.words, "word"), least=1), "at": whens})
        test = s.word(self.tests, "test")
        likelier = s.row({"if": self._condition, "times": s.number(above=0)})
        cause = s.row(
            {"name": s.text, "title": s.text, "family": s.text,
             "grade": s.checked(s.whole, _graded), "changes": s.listed(self._change),
             "shows": s.listed(show), "remedy": s.checked(s.text, self._filled),
             "hazards": self._hazards(), "confirm": test, **s.sourced(self.sources),
             "examples": s.listed(self._example, least=1)},
            {"applies": self._condition, "gone": s.names(_SHARE, known=self.tests, what="test"),
             "raises": s.listed(s.word(_RAISES)), "hides": s.listed(s.word(_RAISES)),
             "shares": s.text, "itself": s.listed(itself), "likelier": s.listed(likelier, least=1),
             "instead": s.checked(s.text, self._filled)},
        )  # fmt: skip
        made = cause(node)
        if ("raises" in made) != ("instead" in made):
            raise node.wrong("needs both 'raises' and 'instead', or none", "say what else helps")
        return {**made, "file": node.placed.file, "line": node.placed.at(*node.path).line}

    def _filled(self, node: Node, text: str) -> str:
        for name in _HOLE.findall(text):
            if name not in self.units:
                hint = near_miss(name, self.units) or "the facts are listed in rules/facts.yaml"
                raise node.wrong(f"names '{{{name}}}', no number", hint)
        return " ".join(text.split())

    def _example(self, node: Node) -> Row:
        said = s.listed(s.checked(s.text, self._said), least=1)
        return s.row(
            {},
            {"sees": said, "sees_not": said, "did": s.listed(s.text), "among": s.whole,
             "with": s.names(s.raw, known=self.vocabulary, what="fact"),
             **dict.fromkeys(MEASURES, s.text)},
        )(node)  # fmt: skip

    def _said(self, node: Node, text: str) -> str:
        word, _, when = text.partition("@")
        s.word(self.words, "word")(_instead(node, word))
        if when:
            s.word(self.whens, "circumstance")(_instead(node, when))
        return text


def _instead(node: Node, data: str) -> Node:
    return Node(data, node.placed, node.path)


def _band(node: Node, row: Row, key: str) -> list[float]:
    """Return low, typical and high as they stand under a key."""
    values = [float(x) for x in row[key]]
    if len(values) != 3 or values != sorted(values):
        raise node.into(key).wrong("is no band", "write [low, typical, high]")
    return values


def _ends_in_si(row: Row) -> list[float]:
    unit = parse_unit(row["unit"])
    return [float(unit.to_si(row[name])) for name in ("low", "typical", "high")]


def _graded(node: Node, grade: int) -> int:
    if grade not in (1, 2, 4):
        raise node.wrong(f"is {grade}", "write 4 (common), 2 or 1 (rare)")
    return grade


def _told_or_read(node: Node, row: Row) -> Row:
    """Hold a test to one way of telling how it came out."""
    if ("outcomes" in row) == ("means" in row) or ("reads" in row) != ("outcomes" in row):
        raise node.wrong(
            "needs either 'means', or 'reads' with 'outcomes'", "say how it is reported"
        )
    if "means" in row and "others" not in row:
        raise node.wrong("has no others", "add the chance that the trouble is gone by itself")
    if not 0 <= row["risk"] <= 3:
        raise node.into("risk").wrong(f"is {row['risk']}", "write a class from 0 to 3")
    return row
