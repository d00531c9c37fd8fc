"""What the demo's skin trouble is drawn from: published figures where there are any, else marked as invented.

They shape a plausible hospital and nothing else; no result of Thenar rests on them.
"""

# Yüksel and others, Contact Dermatitis 2024;90:331-342, doi 10.1111/cod.14489: 18 studies of healthcare
# workers, self-reported, with 95 % intervals. [share of workers]
ONE_YEAR_POOLED = (0.193, 0.274, 0.365)
POINT_POOLED = (0.093, 0.135, 0.184)
ATOPIC = 0.154

# Ibler and others, Contact Dermatitis 2012;67:200-207, and Hamnerius and others, Br J Dermatol
# 2018;178:452-461: one-year prevalence among Danish and Swedish healthcare workers, both 21 %.
ONE_YEAR_NORDIC = 0.21

# Ibler and others 2012: 89 % mild or moderate, 11 % severe or very severe. The split of the 89 is invented.
GRADES = {1: 0.62, 2: 0.27, 3: 0.11}

# Ruff and others, Br J Dermatol 2018;178:879-888, doi 10.1111/bjd.16147: odds of hand eczema within a year
# with atopic dermatitis.
ATOPIC_ODDS = 4.29

# Jamil and others, Acta Derm Venereol 2022;102:adv00681: 16.9 per 100 person-years in nurses and 4.9 in
# office workers, so a bedside role is some 3.4 times an office one. The level of both is set so that the
# prevalences above come out.
PRONE_AT_A_DESK = 0.115
PRONE_AT_THE_BEDSIDE = 0.39

# Invented for the demo, so that point and one-year prevalence come out together. [days]
TROUBLE_LASTS = 150
TROUBLE_RESTS = 300

# Invented for the demo: who answers, who reports by themselves, and what becomes of it.
ANSWERS_A_ROUND = 0.86
REPORTS_BY_ITSELF = 0.7
KNOWN_ALLERGY = 0.03
NOT_SURE_OF_ONE = 0.012
CASE_AFTER = {"emergency": 0.9, "same_day": 0.7, "prompt": 0.36, "routine": 0.1, "self_care": 0.0}
FULL_TIME = {100: 0.62, 80: 0.16, 60: 0.15, 50: 0.05, 40: 0.02}
JOINED_WITHIN = 0.24  # of all on the list, within the three years
LEFT_WITHIN = 0.13
MOVED_WITHIN = 0.11


def prone(wet: float, atopic: bool) -> float:
    """The chance that someone's hands get sore at all, in the demo.

    Parameters
    ----------
    wet
        Weight of wet work in the role. [0 desk to 1 bedside]
    atopic
        Whether they have atopic dermatitis.

    Examples
    --------
    >>> prone(1.0, atopic=False), round(prone(0.0, atopic=True), 3)
    (0.39, 0.358)
    """
    share = PRONE_AT_A_DESK + wet * (PRONE_AT_THE_BEDSIDE - PRONE_AT_A_DESK)
    odds = share / (1 - share) * (ATOPIC_ODDS if atopic else 1)
    return share if not atopic else odds / (1 + odds)
