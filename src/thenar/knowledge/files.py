"""Reads one knowledge file strictly: an unknown key, unit or source is an error that names file and key."""

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal, Protocol

from pydantic import Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.allergens import (
    Breakthrough,
    Cited,
    Finding,
    GloveMaterial,
    Grade,
    Impurity,
    PatchSeries,
    SameName,
    Umbrella,
)
from thenar.knowledge.decision import DecisionRule, Group, Question
from thenar.knowledge.entries import (
    STRICT,
    Citation,
    KnowledgeError,
    KnownAs,
    Line,
    Rule,
    Source,
)
from thenar.knowledge.risk_ratios import RiskRatio
from thenar.knowledge.self_report import SelfReportAccuracy
from thenar.knowledge.wet_work import RuleSet


@checked(frozen=True, slots=True, config=STRICT)
class Reviewed:
    """Who last checked a file, when, and when someone must look again."""

    by: str
    on: date
    due: date


@checked(frozen=True, slots=True, config=STRICT)
class ValuesFile:
    """Quantities: limits, bands, weights."""

    kind: Literal["values"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    rule: tuple[Rule, ...]


@checked(frozen=True, slots=True, config=STRICT)
class AdviceFile:
    """Lines of advice."""

    kind: Literal["advice"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    line: tuple[Line, ...]


@checked(frozen=True, slots=True, config=STRICT)
class DecisionFile:
    """A decision table."""

    kind: Literal["decision"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    question: tuple[Question, ...]
    group: tuple[Group, ...]
    rule: tuple[DecisionRule, ...]


@checked(frozen=True, slots=True, config=STRICT)
class WetWorkFile:
    """One wet-work rule set."""

    kind: Literal["wet-work"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    rule_set: RuleSet


@checked(frozen=True, slots=True, config=STRICT)
class RiskRatiosFile:
    """Published risk ratios, each with its contrast."""

    kind: Literal["risk-ratios"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    ratio: tuple[RiskRatio, ...]


@checked(frozen=True, slots=True, config=STRICT)
class SelfReportFile:
    """How often self-reports were right, by role and question."""

    kind: Literal["self-report"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    accuracy: tuple[SelfReportAccuracy, ...]


@checked(frozen=True, slots=True, config=STRICT)
class SharedName:
    """A name or number that several allergens go by, and why that is so."""

    name: str
    allergens: tuple[str, ...]
    why: str


@checked(frozen=True, slots=True, config=STRICT)
class AllergensFile:
    """The head of the table of allergens: what its rows may refer to. `table` is the file of the rows."""

    kind: Literal["allergens"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    table: Literal["allergens.csv"]
    group: dict[str, str]
    shared_name: tuple[SharedName, ...] = ()
    shared_cas: tuple[SharedName, ...] = ()


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class CrossReactionBlock:
    """One grade in one direction, from each of `tested` to each of `found` and every member of a group."""

    tested: tuple[str, ...] = Field(min_length=1)
    found: tuple[str, ...] = Field(min_length=1)
    found_groups: tuple[str, ...] = ()
    grade: Grade
    numbers: str
    cited: Cited
    eased_by_negative_test: bool = False
    avoid_if_extreme: bool = False
    note: str = ""


@checked(frozen=True, slots=True, config=STRICT)
class AllergyFile:
    """Anything else known of allergens; each file has the parts it needs."""

    kind: Literal["allergy"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    cross_reaction: tuple[CrossReactionBlock, ...] = ()
    umbrella: tuple[Umbrella, ...] = ()
    impurity: tuple[Impurity, ...] = ()
    finding: tuple[Finding, ...] = ()
    same_name: tuple[SameName, ...] = ()
    material: tuple[GloveMaterial, ...] = ()
    breakthrough: tuple[Breakthrough, ...] = ()
    series: tuple[PatchSeries, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class SiteFile:
    """A site's own values, wording and patch-test series, over the shipped ones with the same id."""

    kind: Literal["site"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    sources: dict[str, Source] = Field(default_factory=dict)
    rule: tuple[Rule, ...] = ()
    line: tuple[Line, ...] = ()
    series: tuple[PatchSeries, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class Edition:
    """A numbered state of the knowledge."""

    number: str
    on: date
    digest: str
    changes: str


KnowledgeFile = (
    ValuesFile
    | AdviceFile
    | DecisionFile
    | WetWorkFile
    | RiskRatiosFile
    | SelfReportFile
    | AllergensFile
    | AllergyFile
)
_KINDS: dict[str, TypeAdapter[Any]] = {
    "values": TypeAdapter(ValuesFile),
    "advice": TypeAdapter(AdviceFile),
    "decision": TypeAdapter(DecisionFile),
    "wet-work": TypeAdapter(WetWorkFile),
    "risk-ratios": TypeAdapter(RiskRatiosFile),
    "self-report": TypeAdapter(SelfReportFile),
    "allergens": TypeAdapter(AllergensFile),
    "allergy": TypeAdapter(AllergyFile),
    "site": TypeAdapter(SiteFile),
}
_SOURCES: TypeAdapter[dict[str, Source]] = TypeAdapter(dict[str, Source])
_EDITIONS: TypeAdapter[tuple[Edition, ...]] = TypeAdapter(tuple[Edition, ...])


@dataclass(frozen=True, slots=True)
class Named:
    """A file's content with the name it is cited by."""

    name: str
    content: KnowledgeFile


class Placed(Protocol):
    """Whatever says where it comes from."""

    @property
    def source(self) -> str: ...
    @property
    def locator(self) -> str: ...
    @property
    def known_as(self) -> KnownAs: ...


def citation(named: Named, key: str, placed: Placed, sources: dict[str, Source]) -> Citation:
    """The citation of one item of a file; refused where the bibliography does not have its source."""
    if placed.source not in sources:
        raise wrong(
            named.name,
            key,
            f"cites {placed.source!r}, which is not in sources.toml",
            "A figure without a source is a rumour.",
        )
    return Citation(placed.source, sources[placed.source], placed.locator, placed.known_as)


def wrong(name: str, key: str, says: str, why: str) -> KnowledgeError:
    """The error for a file in which something does not fit."""
    return KnowledgeError(
        what=f"{name}: {key} {says}.", why=why, todo="Mend the file and run `thenar knowledge verify`."
    )


def read_toml(path: Path, name: str) -> dict[str, Any]:
    """The file as plain TOML; a syntax error names the file."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise KnowledgeError(
            what=f"{name} is not valid TOML: {problem}.",
            why="Rules that can't be read can't be used.",
            todo="Mend the line named and run `thenar knowledge verify`.",
        ) from problem
    except FileNotFoundError as problem:
        raise KnowledgeError(
            what=f"There is no knowledge file {name}.",
            why="Rules that can't be read can't be used.",
            todo="Check the path in the setting THENAR_SITE_KNOWLEDGE.",
        ) from problem


def read_file(path: Path, name: str) -> Any:
    """A knowledge file of any kind, checked against its schema."""
    raw = read_toml(path, name)
    kind = raw.get("kind")
    if not isinstance(kind, str) or kind not in _KINDS:
        raise KnowledgeError(
            what=f"{name}: kind = {kind!r} is not one of {', '.join(_KINDS)}.",
            why="The kind says which keys the file may have.",
            todo="Set `kind` at the top of the file.",
        )
    return validated(_KINDS[kind], raw, name)


def read_sources(path: Path) -> dict[str, Source]:
    """The bibliography."""
    return validated(_SOURCES, read_toml(path, path.name), path.name)  # type: ignore[no-any-return]


def read_editions(path: Path) -> tuple[Edition, ...]:
    """All editions, oldest first."""
    raw = read_toml(path, path.name).get("edition", [])
    return validated(_EDITIONS, raw, path.name)  # type: ignore[no-any-return]


def validated(adapter: TypeAdapter[Any], raw: Any, name: str) -> Any:
    """`raw` as the adapter reads it; a fault names the file and the key."""
    try:
        return adapter.validate_python(raw)
    except ValidationError as problem:
        lines = [f"{_key(error['loc'], raw)}: {error['msg']}" for error in problem.errors()]
        raise KnowledgeError(
            what=f"{name}: {'; '.join(lines)}.",
            why="A misspelt key or unit would be passed over and the rule would mean something else.",
            todo="Mend the keys named and run `thenar knowledge verify`.",
        ) from None


def _key(location: tuple[int | str, ...], raw: Any) -> str:
    """Where the fault lies, with the ids of the items on the way: rule[hecsi.band].value[0].unit."""
    words: list[str] = []
    here: Any = raw
    for step in location:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(step, int):
            label = here.get("id", step) if isinstance(here, dict) else step
            words[-1:] = [f"{words[-1]}[{label}]"] if words else [f"[{label}]"]
        else:
            words.append(step)
    return ".".join(words)
