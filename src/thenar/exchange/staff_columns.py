"""Which column of a staff list holds what? Headers are known by many names, in any order."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from thenar.exchange.delimited import tidy
from thenar.exchange.problems import Problem

REQUIRED = ("staff_number", "family_name", "given_name", "area", "role")

CALLED = {  # field: what a message calls it
    "staff_number": "staff number",
    "given_name": "given name",
    "family_name": "family name",
    "born_on": "date of birth",
    "email": "email",
    "area": "area",
    "role": "role",
    "hours_share": "share of full hours",
    "starts_on": "start date",
    "ends_on": "end date",
}
FIELDS = tuple(CALLED)

# Written without accents, spaces or punctuation, separated by blanks. English, German, French.
_NAMES = {
    "staff_number": """
        staffnumber staffno staffnr staffnum staffid staffcode employeenumber employeeno employeenr employeeid
        employeecode empno empid empnumber personnelnumber personnelno personnelid payrollnumber payrollno
        payrollid assignmentnumber workernumber workerno workerid personnumber
        personalnummer personalnr persnr personalid mitarbeiternummer mitarbeiternr mitarbeiterid manr
        stammnummer
        matricule nomatricule numeromatricule nmatricule numeroagent noagent nagent numeroemploye noemploye
        numerodepersonnel idemploye idagent""",
    "given_name": """
        givenname givennames firstname firstnames forename forenames christianname fname vorname
        vornamen prenom prenoms""",
    "family_name": """
        familyname familynames lastname lastnames surname lname nachname familienname zuname
        nomdefamille""",
    "born_on": """
        dateofbirth birthdate birthday dob bornon born birth datebirth
        geburtsdatum gebdatum gebdat geburtstag geboren geborenam gebam
        datedenaissance datenaissance ddn neele naissance""",
    "email": """
        email emailaddress mail workemail mailaddress workemailaddress businessemail
        emailadresse mailadresse dienstlicheemail courriel adresseemail adressemail adresseelectronique
        mel""",
    "area": """
        area ward unit department dept departmentname workarea workplace clinicalarea wardname unitname
        bereich station abteilung arbeitsbereich einsatzbereich service secteur unite departement""",
    "role": """
        role job jobtitle jobrole jobname position positiontitle post posttitle occupation profession
        rolle funktion beruf berufsgruppe stelle stellenbezeichnung tatigkeit taetigkeit fonction metier
        poste intituleduposte""",
    "hours_share": """
        hoursshare shareofhours shareoffullhours fte wte fulltimeequivalent wholetimeequivalent
        workingtimeshare
        employmentlevel contractedfte contractedwte
        beschaftigungsgrad beschaeftigungsgrad stellenanteil vza vzae vk vollzeitaquivalent arbeitszeitanteil
        pensum etp quotite tauxdactivite tempsdetravail equivalenttempsplein""",
    "starts_on": """
        startson startdate start starts datestarted startingdate from validfrom poststart poststartdate
        startofpost effectivefrom beginn beginndatum startdatum ab seit von gueltigab gultigab datedebut
        debut du""",
    "ends_on": """
        endson enddate end ends dateended to until validto validuntil postend postenddate endofpost
        effectiveto ende enddatum bis gueltigbis gultigbis datefin fin au""",
}
_MEANS = {name: field for field, names in _NAMES.items() for name in names.split()}

# Taken only where no clearer header names the field: "Name" beside "Vorname" is a family name, the day of
# joining the hospital stands in for the first day of the post, a staff group for a job title.
_MAY_MEAN_NAMES = {
    "staff_number": "number no nr id",
    "given_name": "knownas preferredname rufname",
    "family_name": "name nom nomusuel nomdusage secondname",
    "area": "costcentre costcenter kostenstelle location team section pole uf unitefonctionnelle",
    "role": "title staffgroup grade dienstart emploi",
    "starts_on": """
        hiredate hiredon joined joindate joiningdate dateofjoining eintritt eintrittsdatum
        datedentree dateentree datedembauche entree""",
    "ends_on": """
        leavingdate leavedate leavingon terminationdate dateofleaving austritt austrittsdatum
        datedesortie datesortie sortie""",
}
_MAY_MEAN = {name: field for field, names in _MAY_MEAN_NAMES.items() for name in names.split()}
# Hours worked are not a share of full hours, and full hours differ; a share can't be made of them by guess.
_HOURS_NAMES = """
    hours weeklyhours hoursperweek hoursweekly workinghours contractedhours contracthours contracthrs
    stunden wochenstunden stundenprowoche arbeitsstunden sollstunden arbeitszeit wochenarbeitszeit
    heures heureshebdomadaires heuresparsemaine horaire dureehebdomadaire"""
_HOURS = frozenset(_HOURS_NAMES.split())
_IN_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")


@dataclass(frozen=True, slots=True)
class Heading:
    """What the first row of a staff list says about its columns.

    Parameters
    ----------
    places
        Our field → the column's place in the row, from 0.
    columns
        Our field → the header found.
    unused
        Headers of columns that are not read.
    width
        Number of columns, without empty ones at the end.
    problems
        Two headers for one field, equal headers, a required field without header.
    """

    places: Mapping[str, int]
    columns: Mapping[str, str]
    unused: tuple[str, ...]
    width: int
    problems: tuple[Problem, ...]


def count_known_headers(cells: Sequence[str]) -> int:
    """Count the fields that the cells of a first row name.

    Examples
    --------
    >>> count_known_headers(["Staff No.", "Prénom", "Car park"])
    2
    """
    return len(_claims([tidy(cell) for cell in cells]))


def map_columns(cells: Sequence[str], line: int) -> Heading:
    """Find the column of each field by its header.

    Parameters
    ----------
    cells
        The first row of the list.
    line
        Where it stands in the file.

    Examples
    --------
    >>> heading = map_columns(["Ward", "Job title", "Surname", "First name", "Staff no", "Shoe size"], 1)
    >>> heading.columns["area"], heading.places["staff_number"], heading.unused
    ('Ward', 4, ('Shoe size',))
    """
    headers = [tidy(cell) for cell in cells]
    while headers and not headers[-1]:
        headers.pop()
    claims = _claims(headers)
    used = {place for places in claims.values() for place in places}
    # A list without a first row of headers would have a person's details read out as "headers".
    is_heading = len(claims) >= 2
    unused = tuple(header for place, header in enumerate(headers) if header and place not in used)
    return Heading(
        places={field: places[0] for field, places in claims.items()},
        columns={field: headers[places[0]] for field, places in claims.items()} if is_heading else {},
        unused=unused if is_heading else (),
        width=len(headers),
        problems=(
            *(_contested(claims, headers, line) if is_heading else ()),
            *(_equal_unused(headers, used, line) if is_heading else ()),
            *(_hours_unread(claims, headers, line) if is_heading else ()),
            *(_missing(claims, headers, line) if is_heading else _not_headers(line)),
        ),
    )


def _claims(headers: Sequence[str]) -> dict[str, list[int]]:
    """Give each field the places whose headers name it, in the order of FIELDS."""
    clear: dict[str, list[int]] = {}
    vague: dict[str, list[int]] = {}
    for place, header in enumerate(headers):
        for word in dict.fromkeys((_fold(header), _fold(_IN_BRACKETS.sub("", header)))):
            if word in _MEANS:
                clear.setdefault(_MEANS[word], []).append(place)
                break
            if word in _MAY_MEAN:
                vague.setdefault(_MAY_MEAN[word], []).append(place)
                break
    claimed = vague | clear
    return {field: claimed[field] for field in FIELDS if field in claimed}


def _contested(claims: Mapping[str, list[int]], headers: Sequence[str], line: int) -> list[Problem]:
    return [
        Problem(
            line,
            headers[places[1]],
            f"{_name_all(headers, places)} all name the {CALLED[field]}."
            if len(places) > 2
            else f"{_name_all(headers, places)} both name the {CALLED[field]}.",
            "Keep the one that counts and remove or rename the rest.",
            serious=True,
        )
        for field, places in claims.items()
        if len(places) > 1
    ]


def _equal_unused(headers: Sequence[str], used: set[int], line: int) -> list[Problem]:
    places_of: dict[str, list[int]] = {}
    for place, header in enumerate(headers):
        if header and place not in used:
            places_of.setdefault(_fold(header), []).append(place)
    return [
        Problem(
            line,
            headers[places[1]],
            f"{_name_all(headers, places)} have the same header.",
            "Neither is read, so nothing needs doing unless one of them should be.",
            serious=False,
        )
        for places in places_of.values()
        if len(places) > 1
    ]


def _hours_unread(claims: Mapping[str, list[int]], headers: Sequence[str], line: int) -> list[Problem]:
    """Say that hours under a header of their own tell no share, where no column does."""
    hours = [header for header in headers if _HOURS & {_fold(header), _fold(_IN_BRACKETS.sub("", header))}]
    if "hours_share" in claims or not hours:
        return []
    return [
        Problem(
            line,
            hours[0],
            f"'{_shorten(hours[0])}' is not read, so the {CALLED['hours_share']} stays unknown.",
            "If it should be known, add a column 'FTE' with the share: 0.8 or 80 %.",
            serious=False,
        )
    ]


def _not_headers(line: int) -> list[Problem]:
    needed = ", ".join(CALLED[field] for field in REQUIRED)
    says = "The first row does not look like headers."
    return [Problem(line, "", says, f"Put a first row with at least: {needed}.", serious=True)]


def _missing(claims: Mapping[str, list[int]], headers: Sequence[str], line: int) -> list[Problem]:
    found = ", ".join(f"'{_shorten(header)}'" for header in headers[:20] if header)
    more = ", and more" if len(headers) > 20 else ""
    return [
        Problem(
            line,
            "",
            f"No column is headed '{CALLED[field]}' or a like word. Found: {found}{more}.",
            f"Add the column, or rename the one that holds it to '{CALLED[field]}'.",
            serious=True,
        )
        for field in REQUIRED
        if field not in claims
    ]


def _name_all(headers: Sequence[str], places: Sequence[int]) -> str:
    named = [f"column {place + 1} '{_shorten(headers[place])}'" for place in places[:5]]
    sentence = ", ".join(named[:-1]) + " and " + named[-1]
    return sentence[0].upper() + sentence[1:]


def _shorten(header: str) -> str:
    return header if len(header) <= 40 else header[:39] + "…"


def _fold(header: str) -> str:
    decomposed = unicodedata.normalize("NFKD", header).casefold()
    return "".join(letter for letter in decomposed if letter.isalnum())
