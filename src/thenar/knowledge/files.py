"""Reads one knowledge file strictly: an unknown key, unit or source is an error that names file and key."""

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.decision import DecisionRule, Group, Question
from thenar.knowledge.entries import STRICT, KnowledgeError, Line, Rule, Source
from thenar.knowledge.risk_ratios import RiskRatio
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
class SiteFile:
    """A site's own values and wording, over the shipped ones with the same id."""

    kind: Literal["site"]
    title: str
    why_it_matters: str
    reviewed: Reviewed
    sources: dict[str, Source] = Field(default_factory=dict)
    rule: tuple[Rule, ...] = ()
    line: tuple[Line, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class Edition:
    """A numbered state of the knowledge."""

    number: str
    on: date
    digest: str
    changes: str


KnowledgeFile = ValuesFile | AdviceFile | DecisionFile | WetWorkFile | RiskRatiosFile
_KINDS: dict[str, TypeAdapter[Any]] = {
    "values": TypeAdapter(ValuesFile),
    "advice": TypeAdapter(AdviceFile),
    "decision": TypeAdapter(DecisionFile),
    "wet-work": TypeAdapter(WetWorkFile),
    "risk-ratios": TypeAdapter(RiskRatiosFile),
    "site": TypeAdapter(SiteFile),
}
_SOURCES: TypeAdapter[dict[str, Source]] = TypeAdapter(dict[str, Source])
_EDITIONS: TypeAdapter[tuple[Edition, ...]] = TypeAdapter(tuple[Edition, ...])


@dataclass(frozen=True, slots=True)
class Named:
    """A file's content with the name it is cited by."""

    name: str
    content: KnowledgeFile


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
    return _validated(_KINDS[kind], raw, name)


def read_sources(path: Path) -> dict[str, Source]:
    """The bibliography."""
    return _validated(_SOURCES, read_toml(path, path.name), path.name)  # type: ignore[no-any-return]


def read_editions(path: Path) -> tuple[Edition, ...]:
    """All editions, oldest first."""
    raw = read_toml(path, path.name).get("edition", [])
    return _validated(_EDITIONS, raw, path.name)  # type: ignore[no-any-return]


def _validated(adapter: TypeAdapter[Any], raw: Any, name: str) -> Any:
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
