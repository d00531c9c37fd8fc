"""The book of knowledge: every rule, line and table with its sources, in one numbered edition."""

import hashlib
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

from thenar.knowledge.allergen_entries import allergen_entries, allergy_entries
from thenar.knowledge.allergen_rows import read_allergens
from thenar.knowledge.allergen_table import build_table
from thenar.knowledge.allergens import Allergen, AllergenTable
from thenar.knowledge.decision import DecisionRule, DecisionTable
from thenar.knowledge.entries import (
    Citation,
    Dated,
    Entry,
    KnowledgeError,
    Line,
    Rule,
    Source,
    Value,
)
from thenar.knowledge.files import (
    AdviceFile,
    AllergensFile,
    AllergyFile,
    DecisionFile,
    Edition,
    Named,
    RiskRatiosFile,
    SelfReportFile,
    SiteFile,
    ValuesFile,
    WetWorkFile,
    citation,
    read_editions,
    read_file,
    read_sources,
    wrong,
)
from thenar.knowledge.risk_ratios import RiskRatio, unfit
from thenar.knowledge.self_report import SelfReportAccuracy, useless
from thenar.knowledge.wet_work import RuleSet, WetWorkItem, items_with_words, misfits

FOLDER = Path(__file__).parent
ALLERGENS = "allergy/allergens.csv"

Cited = Value | Line | DecisionRule | WetWorkItem | RiskRatio | SelfReportAccuracy


@dataclass(frozen=True, slots=True)
class Book:
    """All knowledge of one edition. Make one with `load`."""

    edition: str
    editions: tuple[Edition, ...]
    digest: str
    files: tuple[Named, ...]
    sources: dict[str, Source]
    rules: dict[str, Rule]
    lines: dict[str, Line]
    tables: dict[str, DecisionTable]
    rule_sets: dict[str, RuleSet]
    risk_ratios: dict[str, RiskRatio]
    self_reports: dict[str, SelfReportAccuracy]
    allergens: AllergenTable
    entries: dict[str, Entry]

    def rule(self, rule_id: str) -> Rule:
        """The rule of that id."""
        if rule_id not in self.rules:
            raise unknown_entry(rule_id)
        return self.rules[rule_id]

    def entry(self, entry_id: str) -> Entry:
        """Any rule, line or decision, ready to show."""
        if entry_id not in self.entries:
            raise unknown_entry(entry_id)
        return self.entries[entry_id]

    def cite(self, cited: Cited) -> Citation:
        """The citation of whatever names a source and a place in it."""
        return Citation(cited.source, self.sources[cited.source], cited.locator, cited.known_as)

    def lines_about(self, topic: str) -> tuple[Line, ...]:
        """Advice lines of one topic, in the file's order."""
        return tuple(line for line in self.lines.values() if line.topic == topic)

    def overdue_on(self, today: date) -> tuple[Named, ...]:
        """Files whose review is overdue."""
        return tuple(named for named in self.files if named.content.reviewed.due < today)

    def verify(self, today: date) -> None:
        """Raise KnowledgeError where a review has lapsed or the content differs from its edition.

        Loading never refuses an overdue file, so that a clinic does not stop at midnight; this check does,
        and pages show a notice.
        """
        late = [
            f"{named.name}: reviewed.due is {named.content.reviewed.due}" for named in self.overdue_on(today)
        ]
        if late:
            raise KnowledgeError(
                what=f"Review is overdue. {'; '.join(late)}.",
                why="Guidance changes; a rule nobody has looked at may be out of date.",
                todo="Check the file against its sources, then set `reviewed` to today and a new `due`.",
            )
        if self.editions[-1].digest != self.digest:
            raise KnowledgeError(
                what=f"The knowledge files differ from edition {self.editions[-1].number}.",
                why="Stored results name an edition; the same number must always mean the same rules.",
                todo=f'Add an edition to editions.toml with digest = "{self.digest}" and say what changed.',
            )


def unknown_entry(entry_id: str) -> KnowledgeError:
    """The error for an id that no file has."""
    return KnowledgeError(
        what=f"There is no rule {entry_id!r}.",
        why="Nothing can be shown or computed without it.",
        todo="`thenar knowledge list` shows every id.",
    )


@cache
def load(site_file: Path | None = None) -> Book:
    """Read every shipped file, then the site's own file over them.

    Parameters
    ----------
    site_file
        A site's own values and wording, in the same form.

    Raises
    ------
    KnowledgeError
        With file and key, for anything that can't be read or does not fit together.

    Examples
    --------
    >>> load().rule("severity.band.clear").says
    'Score at which hands are called clear.'
    """
    sources = read_sources(FOLDER / "sources.toml")
    editions = read_editions(FOLDER / "editions.toml")
    files = tuple(Named(name, read_file(FOLDER / name, name)) for name in shipped_files())
    edition = editions[-1].number
    if site_file is not None:
        files, sources = _with_site(files, sources, site_file)
        edition += f"+site-{hashlib.sha256(site_file.read_bytes()).hexdigest()[:8]}"
    allergens = read_allergens(FOLDER / ALLERGENS, ALLERGENS)
    self_reports = {one.id: one for named in files for one in _self_reports(named)}
    entries = _entries(files, allergens, sources)
    return Book(
        edition=edition,
        editions=editions,
        digest=shipped_digest(),
        files=files,
        sources=sources,
        rules={rule.id: rule for named in files for rule in _rules(named)},
        lines={line.id: line for named in files for line in _lines(named)},
        tables={
            _table_name(named): _table(named) for named in files if isinstance(named.content, DecisionFile)
        },
        rule_sets=_rule_sets(files),
        risk_ratios={ratio.id: ratio for named in files for ratio in _risk_ratios(named)},
        self_reports=self_reports,
        allergens=build_table(files, allergens, ALLERGENS),
        entries=entries,
    )


def shipped_files() -> tuple[str, ...]:
    """Names of the shipped knowledge files, in a fixed order."""
    paths = sorted(FOLDER.glob("*/**/*.toml"))
    return tuple(path.relative_to(FOLDER).as_posix() for path in paths)


def shipped_digest() -> str:
    """Fingerprint of the bibliography, every shipped file and the table of allergens."""
    total = hashlib.sha256()
    for name in ("sources.toml", *shipped_files(), ALLERGENS):
        total.update(name.encode() + b"\0" + (FOLDER / name).read_bytes() + b"\0")
    return total.hexdigest()[:16]


def _rules(named: Named) -> tuple[Rule, ...]:
    return named.content.rule if isinstance(named.content, ValuesFile) else ()


def _lines(named: Named) -> tuple[Line, ...]:
    return named.content.line if isinstance(named.content, AdviceFile) else ()


def _table(named: Named) -> DecisionTable:
    assert isinstance(named.content, DecisionFile)
    return DecisionTable(named.content.question, named.content.group, named.content.rule)


def _rule_sets(files: tuple[Named, ...]) -> dict[str, RuleSet]:
    rule_sets: dict[str, RuleSet] = {}
    for named in files:
        if isinstance(named.content, WetWorkFile):
            rule_set = named.content.rule_set
            for key, says, why in misfits(rule_set):
                raise wrong(named.name, key, says, why)
            if rule_set.id in rule_sets:
                raise wrong(named.name, rule_set.id, "also stands in another file", "An id means one set.")
            rule_sets[rule_set.id] = rule_set
    return rule_sets


def _risk_ratios(named: Named) -> tuple[RiskRatio, ...]:
    if not isinstance(named.content, RiskRatiosFile):
        return ()
    for ratio in named.content.ratio:
        for says, why in unfit(ratio):
            raise wrong(named.name, ratio.id, says, why)
    return named.content.ratio


def _self_reports(named: Named) -> tuple[SelfReportAccuracy, ...]:
    if not isinstance(named.content, SelfReportFile):
        return ()
    for accuracy in named.content.accuracy:
        for says, why in useless(accuracy):
            raise wrong(named.name, accuracy.id, says, why)
    return named.content.accuracy


def _table_name(named: Named) -> str:
    return Path(named.name).stem


def _with_site(
    files: tuple[Named, ...], sources: dict[str, Source], path: Path
) -> tuple[tuple[Named, ...], dict[str, Source]]:
    site = read_file(path, path.name)
    if not isinstance(site, SiteFile):
        raise wrong(path.name, "kind", 'is not "site"', "Only a site file may stand over the shipped rules.")
    _refuse_misfits(path.name, site, files)
    rules = {rule.id: rule for rule in site.rule}
    lines = {line.id: line for line in site.line}
    own = AllergyFile("allergy", site.title, site.why_it_matters, site.reviewed, series=site.series)
    named = tuple(_overlaid(file, rules, lines, {series.id for series in site.series}) for file in files)
    return (*named, Named(path.name, own)), {**sources, **site.sources}


def _refuse_misfits(name: str, site: SiteFile, files: tuple[Named, ...]) -> None:
    """A site may change a shipped rule's values or a shipped line's words, not what they stand for."""
    units = {rule.id: rule.unit for named in files for rule in _rules(named)}
    topics = {line.id: line.topic for named in files for line in _lines(named)}
    for rule in site.rule:
        if rule.id not in units:
            raise wrong(name, rule.id, "is not a shipped rule", "A site can change, not add.")
        if rule.unit != units[rule.id]:
            raise wrong(name, f"{rule.id}.unit", f"is not {units[rule.id]!r}", "It would be misread.")
    for line in site.line:
        if line.id not in topics:
            raise wrong(name, line.id, "is not a shipped line", "A site can reword, not add.")
        if line.topic != topics[line.id]:
            raise wrong(name, f"{line.id}.topic", f"is not {topics[line.id]!r}", "It would go missing.")


def _overlaid(named: Named, rules: dict[str, Rule], lines: dict[str, Line], series: set[str]) -> Named:
    content = named.content
    if isinstance(content, ValuesFile):
        content = replace(content, rule=tuple(rules.get(rule.id, rule) for rule in content.rule))
    elif isinstance(content, AdviceFile):
        content = replace(content, line=tuple(lines.get(line.id, line) for line in content.line))
    elif isinstance(content, AllergyFile):
        content = replace(content, series=tuple(one for one in content.series if one.id not in series))
    return Named(named.name, content)


def _entries(
    files: tuple[Named, ...], allergens: dict[str, Allergen], sources: dict[str, Source]
) -> dict[str, Entry]:
    entries: dict[str, Entry] = {}
    for named in files:
        for entry in _entries_of(named, allergens, sources):
            if entry.id in entries:
                raise wrong(
                    named.name,
                    entry.id,
                    f"also stands in {entries[entry.id].file}",
                    "An id must mean one thing.",
                )
            entries[entry.id] = entry
    return entries


def _entries_of(named: Named, allergens: dict[str, Allergen], sources: dict[str, Source]) -> list[Entry]:
    content = named.content
    if isinstance(content, AllergensFile):
        shown = allergen_entries(Named(ALLERGENS, content), allergens, sources)
        return [replace(entry, file=named.name) for entry in shown]
    if isinstance(content, AllergyFile):
        return allergy_entries(named, content, allergens, sources)
    if isinstance(content, ValuesFile):
        return [_rule_entry(named, rule, sources) for rule in content.rule]
    if isinstance(content, WetWorkFile):
        return _wet_work_entries(named, content.rule_set, sources)
    if isinstance(content, RiskRatiosFile | SelfReportFile):
        return _figure_entries(named, content, sources)
    items = content.line if isinstance(content, AdviceFile) else content.rule
    return [_single_entry(named, item, sources) for item in items]


def _rule_entry(named: Named, rule: Rule, sources: dict[str, Source]) -> Entry:
    if not rule.value:
        raise wrong(named.name, rule.id, "has no value", "A rule without a value decides nothing.")
    if any((value.amount is None) == (value.text is None) for value in rule.value):
        raise wrong(named.name, rule.id, "needs an amount or a text per value", "It is the rule.")
    days = [value.in_force_from for value in rule.value]
    if days != sorted(set(days)):
        raise wrong(
            named.name, rule.id, "has values out of date order", "Only one value may be in force on a day."
        )
    history = tuple(
        Dated(
            value.in_force_from,
            amount_in_words(value, rule.unit),
            citation(named, rule.id, value, sources),
            value.note,
        )
        for value in rule.value
    )
    return _entry(named, rule, kind="rule", unit=rule.unit, history=history, sources=sources)


def _single_entry(named: Named, item: Line | DecisionRule, sources: dict[str, Source]) -> Entry:
    kind = "advice" if isinstance(item, Line) else "decision"
    history = (Dated(item.in_force_from, item.says, citation(named, item.id, item, sources)),)
    return _entry(named, item, kind=kind, unit="text", history=history, sources=sources)


def _wet_work_entries(named: Named, rule_set: RuleSet, sources: dict[str, Source]) -> list[Entry]:
    entries = []
    for item, limit in items_with_words(rule_set):
        cited = citation(named, item.id, item, sources)
        history = (Dated(rule_set.in_force_from, limit, cited, item.note),)
        entries.append(_entry(named, item, kind="wet work", unit="text", history=history, sources=sources))
    return entries


def _figure_entries(
    named: Named, content: RiskRatiosFile | SelfReportFile, sources: dict[str, Source]
) -> list[Entry]:
    if isinstance(content, RiskRatiosFile):
        return [_figure_entry(named, ratio, sources, kind="risk ratio") for ratio in content.ratio]
    return [_figure_entry(named, one, sources, kind="self-report") for one in content.accuracy]


def _figure_entry(
    named: Named, figure: RiskRatio | SelfReportAccuracy, sources: dict[str, Source], *, kind: str
) -> Entry:
    cited = citation(named, figure.id, figure, sources)
    history = (Dated(named.content.reviewed.on, figure.in_words, cited, figure.note),)
    return _entry(named, figure, kind=kind, unit="text", history=history, sources=sources)


def _entry(
    named: Named,
    item: Rule | Line | DecisionRule | WetWorkItem | RiskRatio | SelfReportAccuracy,
    *,
    kind: str,
    unit: str,
    history: tuple[Dated, ...],
    sources: dict[str, Source],
) -> Entry:
    views = item.other_view if not isinstance(item, DecisionRule) else ()
    return Entry(
        id=item.id,
        kind=kind,
        says=item.says,
        unit=unit,
        history=history,
        other_views=tuple(
            (
                view.says,
                citation(named, item.id, view, sources),
            )
            for view in views
        ),
        why_in_use=item.why_in_use,
        file=named.name,
        file_title=named.content.title,
        why_it_matters=named.content.why_it_matters,
        reviewed_by=named.content.reviewed.by,
        reviewed_on=named.content.reviewed.on,
        review_due=named.content.reviewed.due,
    )


def amount_in_words(value: Value, unit: str) -> str:
    """A value as a person reads it: operator, amount, unit."""
    if value.text is not None:
        return value.text
    sign = "" if value.operator in (None, "=") else f"{value.operator} "
    return f"{sign}{value.amount} {unit}".strip()
