"""Who looked and who did what, as sentences a worker can read."""

from dataclasses import dataclass
from datetime import datetime

from thenar.records.models import AccessRole
from thenar.records.queries.mine import Look

SENTENCES = {
    # what was done
    "check submitted": "Sent a skin check.",
    "check link made": "Made a personal link to a skin check for you.",
    "check dealt with": "Decided what follows from your skin check.",
    "case opened": "Opened a case, to look after this episode of skin trouble.",
    "case closed": "Closed your case.",
    "examination recorded": "Wrote down what your hands looked like.",
    "plan made": "Made a plan for your hands.",
    "review set": "Set a day for your next look.",
    "review finished": "Wrote down how your review went.",
    "adjustment agreed": "Wrote down a change to your work.",
    "letter drafted": "Drafted a letter about a change to your work.",
    "letter content agreed": "Entered that the content of a letter is agreed with you.",
    "letter offered": "Offered you a letter to read before it is sent.",
    "letter seen": "Entered that you have read a letter.",
    "letter see declined": "Entered that you need not read a letter first.",
    "letter commented": "Added a comment to a letter.",
    "letter consented": "Entered your yes to sending a letter.",
    "letter refused": "Entered your no to sending a letter.",
    "letter withdrawn": "Took a letter back. It is not sent.",
    "letter released": "Sent a letter that you had agreed to.",
    "duties searched": "Looked for tasks at work that suit you for a while.",
    "concern raised": "Noted that a product where you work may not suit you, so that somebody looks at it.",
    "concern dealt with": "Wrote down what was done about a product where you work.",
    "patch test applied": "Wrote down what was put on your skin for a patch test.",
    "patch test read": "Wrote down what your patch test showed on one day.",
    "patch test reading corrected": "Corrected what your patch test showed. The first entry stays.",
    "patch test relevance said": "Wrote down what a reaction in your patch test may have to do with.",
    "patch test ended": "Ended your patch test.",
    "sensitisation set down": "Wrote down something that your skin reacts to.",
    "immediate allergy set down": "Wrote down an allergy of yours that can act at once.",
    "allergy withdrawn": "Took back something written down as an allergy of yours.",
    "answer overruled": "Decided otherwise than the rules about a product for you.",
    "glove size set": "Wrote down your glove size.",
    "product list given": "Made a list of products for you.",
    "product list given to supplies": "Listed products for supplies. It says nothing about your health.",
    # who looked
    "duty search looked at": "Looked at the tasks found for you. They say what changes, never why.",
    "record looked at": "Looked at your record.",
    "worker looked at": "Looked at your name and post. Nothing about your health.",
    "concern looked at": "Looked at a product where you work that may not suit you.",
    "letter read by its recipient": "Read the letter that you had agreed to.",
    "own record looked at": "Looked at your own record.",
    "own check looked at": "Looked at one of your own skin checks.",
    "own plan looked at": "Looked at your own plan.",
    "own letter looked at": "Looked at a letter about you.",
    "own allergies looked at": "Looked at what you react to.",
    "own product list looked at": "Looked at one of your own product lists.",
    "own look-ups looked at": "Looked at this list.",
    # about nobody in particular; they stand in nobody's list, and are here so that every event has its words
    "workers searched": "Searched for workers by name.",
    "today looked at": "Looked at the list of what waits today.",
    "team looked at": "Looked at the letters sent for a team.",
    "refused": "Was refused a page.",
    "signed in": "Signed in.",
    "signed out": "Signed out.",
    "task list kept": "Read in the tasks of a place of work.",
    "team listed": "Looked at who works in a place.",
    "session recorded": "Counted what hands do in a shift.",
    "sessions read in": "Read in what was counted in shifts.",
    "work described": "Described the work of a place.",
    "control recorded": "Recorded a measure taken in a place of work.",
    "area assessed": "Assessed a place of work.",
    "staff listed": "Looked at the list of staff.",
    "staff list uploaded": "Read in a staff list, to look it over.",
    "staff list dates explained": "Said how the dates in a staff list are written.",
    "staff list taken over": "Took over a staff list: joiners, movers, leavers.",
    "staff list thrown away": "Threw away a staff list that was not taken over.",
    "concerns looked at": "Looked at which products may not suit some workers.",
    "avoiders looked at": "Looked at who should not use a product.",
    "groups looked at": "Looked at how many workers need which products.",
    "formulary proposed": "Kept a set of products proposed for places of work.",
    "patch test figures looked at": "Looked at how patch tests came out, without names.",
    "extract written": "Wrote all records to files, without names.",
    "patch tests written out": "Wrote patch tests to a file, without names.",
    "product added": "Added a product.",
    "product declared": "Wrote down what a product declares.",
    "product priced": "Wrote down what a product costs.",
    "reading accepted": "Said what an ingredient of a product means.",
    "reading refused": "Said that an ingredient of a product is no misprint of an allergen.",
    "product stocked": "Wrote down where a product stands.",
    "stock ended": "Wrote down until when a product stands somewhere.",
    "products read in": "Read in a list of products.",
}

_WHERE = {
    "worker page": "Opened your record.",
    "case page": "Opened your case.",
    "finding duties": "Opened your case to look for tasks that suit you.",
    "check": "Opened one of your skin checks.",
    "examination": "Opened an examination of your hands.",
    "plan": "Opened your plan.",
    "review": "Opened a review of yours.",
    "letter": "Opened a letter about you.",
    "allergies": "Opened what you react to.",
    "patch test": "Opened your patch test.",
    "product list": "Opened a product list of yours.",
}
_FOR_THEIR_WORK = {
    AccessRole.PRACTITIONER: "To look after your hands",
    AccessRole.LEAD: "To lead the occupational-health service",
    AccessRole.CLERK: "To arrange checks and visits",
    AccessRole.MANAGER: "To arrange your work",
    AccessRole.ADMINISTRATOR: "To keep the system running",
    AccessRole.AUDITOR: "To check that the rules are kept",
}


@dataclass(frozen=True, slots=True)
class Told:
    """One look or act as the worker reads it."""

    at: datetime
    who: str
    role: str
    did: str
    why: str


def is_own_look(look: Look) -> bool:
    """The worker looking at their own record, which would bury what others did."""
    return look.event.startswith("own ")


def tell(look: Look) -> Told:
    """A look or an act in plain words."""
    return Told(at=look.at, who=_who(look), role=_role(look), did=_did(look), why=_why(look))


def _who(look: Look) -> str:
    if look.own:
        return "You"
    return "You, by a personal link" if look.who == "personal link" else look.who


def _role(look: Look) -> str:
    if look.own or look.who == "personal link":
        return ""
    return str(AccessRole(look.access).label) if look.access in AccessRole.values else look.access


def _did(look: Look) -> str:
    if look.event == "record looked at" and look.why in _WHERE:
        return _WHERE[look.why]
    return SENTENCES.get(look.event, f"{look.event.capitalize()}.")


def _why(look: Look) -> str:
    """The reason written down with it, else what this role opens records for."""
    if look.own or look.who == "personal link":
        return "Your own record"
    if look.why and look.why not in _WHERE:
        return look.why.capitalize()
    return str(_FOR_THEIR_WORK.get(AccessRole(look.access), "")) if look.access in AccessRole.values else ""
