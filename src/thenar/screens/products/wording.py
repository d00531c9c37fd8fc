"""Which words do the pages use for what is kept of a product?"""

from thenar.allergy.declared import ListKind

# What each kind of list is, beside the choice on the form; and what it leaves unsaid, on the product's page.
WHAT_IT_IS = {
    ListKind.FULL: "Everything on the label of a cosmetic, in order of amount.",
    ListKind.PARTIAL: "What a medicine or a biocide names: its active substances and some others.",
    ListKind.DATA_SHEET: "Section 3 of a safety data sheet.",
    ListKind.GLOVE_DECLARED: "The maker named the accelerators or other chemicals used.",
    ListKind.GLOVE_CLAIM: "The maker says “accelerator-free” or the like, and names nothing.",
    ListKind.NOTHING: "No list could be had.",
}
CANNOT_TELL = {
    ListKind.FULL: "A full list can still leave out what comes along with an ingredient, what a collective "
    "name stands for, and what got in by mistake.",
    ListKind.PARTIAL: "A medicine or biocide need not name everything in it. Whatever is not named here may "
    "be in it all the same.",
    ListKind.DATA_SHEET: "A safety data sheet names only what is classed as dangerous, above a threshold. "
    "Fragrances, preservatives and others below it are not named.",
    ListKind.GLOVE_DECLARED: "Chemicals of a glove were named. That is no list of all it holds, nor of "
    "what is left in it.",
    ListKind.GLOVE_CLAIM: "A claim is not a list. It rules out no chemical by name.",
    ListKind.NOTHING: "Nothing is declared, so nothing can be excluded.",
}
GLOVE_ONLY = (ListKind.GLOVE_DECLARED, ListKind.GLOVE_CLAIM)


def yes_or_no(fact: bool | None) -> str:
    """A fact in a word; nobody knows is said, not left empty."""
    return "not known" if fact is None else "yes" if fact else "no"


def group_in_words(group: str) -> str:
    """A group of allergens as people write it.

    Examples
    --------
    >>> group_in_words("formaldehyde_releaser")
    'formaldehyde releaser'
    """
    return group.replace("_", " ")
