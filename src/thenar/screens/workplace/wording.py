"""Shares and amounts as a person reads them."""


def percent(share: float) -> str:
    """A share in per cent, never more certain than it is.

    Examples
    --------
    >>> percent(0.724), percent(0.003), percent(0.999)
    ('72 %', 'under 1 %', 'over 99 %')
    """
    if share < 0.01:
        return "under 1 %"
    return "over 99 %" if share > 0.99 else f"{share:.0%}".replace("%", " %")


def percents(lower: float, upper: float) -> str:
    """A range of shares.

    Examples
    --------
    >>> percents(0.41, 0.93), percents(0.998, 0.999), percents(0.2, 0.204)
    ('41 to 93 %', 'over 99 %', '20 %')
    """
    low, high = percent(lower), percent(upper)
    return high if low == high else f"{low.removesuffix(' %')} to {high}"


def about(amount: float) -> str:
    """An average: one decimal under 10, whole above.

    Examples
    --------
    >>> about(3.26), about(17.8)
    ('3.3', '18')
    """
    return f"{amount:.1f}" if amount < 10 else f"{amount:.0f}"


def exact(amount: float) -> str:
    """A figure held against a limit: one decimal, so that 14.6 is not read as 15.

    Examples
    --------
    >>> exact(14.6), exact(15.0)
    ('14.6', '15')
    """
    return f"{round(amount, 1):g}"


def passes_in_words(operator: str, bound: float) -> str:
    """What it takes to pass a limit.

    Examples
    --------
    >>> passes_in_words(">", 20), passes_in_words(">=", 15)
    ('more than 20', '15 or more')
    """
    return f"more than {exact(bound)}" if operator == ">" else f"{exact(bound)} or more"
