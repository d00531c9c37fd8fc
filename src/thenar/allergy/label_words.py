"""Which words on a label are headings, notes and joins rather than ingredients?

The words are common practice on labels, package leaflets and data sheets in the languages sold in Europe and
Canada. A word that is missing here does no harm: it is read as an ingredient that matches nothing.
"""

import re

_TITLE = (
    r"(?:(?:(?:list\s+of|full|active|inactive|other|medicinal|non-?medicinal|cosmetic|hazardous)\s+)*"
    r"ingr[ée]dients?"
    r"(?:\s+actifs?|\s+inactifs?|\s+m[ée]dicinaux|\s+non\s+m[ée]dicinaux)?"
    r"|inci(?:\s+names?)?|ingredientes|ingredienti|ingredi[eë]nten|ingredienser|indholdsstoffer"
    r"|(?:gef[äa]hrliche\s+|sonstige\s+)?(?:inhaltsstoffe|bestandteile)|zutaten|zusammensetzung"
    r"|composition|composici[óo]n|composizione|wirkstoffe?|hilfsstoffe|excipients?|excipientes"
    r"|active\s+substances?|substances?\s+actives?|principes?\s+actifs?|principios?\s+activos?"
    r"|hazardous\s+components?|accelerators?(?:\s+used)?|acc[ée]l[ée]rateurs?|beschleuniger"
    r"|contains(?!\s+no\b)|contient|contiene|enth[äa]lt)"
)
_MAY_CONTAIN = (
    r"(?:may\s+(?:also\s+)?contain|peut\s+contenir|kann\s+enthalten|puede\s+contener|pu[òo]\s+contenere|pode\s+conter"
    r"|kan\s+(?:bevatten|indeholde|inneh[åa]lla)|\(?\+\s?/\s?[-−–]\)?|±)"
)

# A heading at the start of a piece, with its colon: "Ingredients / Ingrédients:".
TITLE = re.compile(
    rf"\s*+{_TITLE}(?:\s*[/|(]\s*{_TITLE}\)?)*(?:\s*\)?\s*[:=–—]|(?![\w-]))[\s:]*", re.IGNORECASE
)
# "may contain" at the start of a piece, with the bracket that it opens.
MAY_CONTAIN = re.compile(
    rf"\s*+(?P<bracket>[\[(](?!\+\s?/\s?[-−–]\)))?\s*+{_MAY_CONTAIN}(?:\s*[/|(]?\s*{_MAY_CONTAIN})*[\s:)]*",
    re.IGNORECASE,
)
# The same inside a piece, where its comma was lost.
MAY_CONTAIN_AHEAD = rf"(?=[\[(]?\s?{_MAY_CONTAIN})"

# Words that say what an ingredient is for or how it was made, and never what it is.
_NOTE = (
    r"(?:nano|preservatives?|conservateurs?|conservantes?|konservierungs(?:mittel|stoffe?)|emollients?|humectants?"
    r"|moisturi[sz]ers?|surfactants?|tensides?|emulsifiers?|emulsifiants?|solvents?|solvants?|thickeners?"
    r"|stabili[sz]ers?|antioxidants?|colou?rants?|antimicrobials?|antiseptics?|disinfectants?|active|actif"
    r"|purified|organic|bio|natural|vegan)"
)
NOTE_IN_BRACKETS = re.compile(rf"[(\[]\s*{_NOTE}\s*[)\]]", re.IGNORECASE)
NOTE = re.compile(rf"\s*+{_NOTE}\s*", re.IGNORECASE)
NOTE_AHEAD = rf"(?={_NOTE}\b)"

# What says that something is not in the product, up to the next separator.
_ABSENCE = (
    r"(?:free\s+(?:from|of)|does\s+not\s+contain|contains\s+no|no\s+added|without|sans|ohne|frei\s+von)\s"
)
# At the start of a name a mere "no" says so too; inside one it may be "number".
ABSENCE = re.compile(rf"{_ABSENCE}|(?:no|keine?n?|not\s+made\s+with)\s(?=[^\W\d_])", re.IGNORECASE)
ABSENCE_AHEAD = rf"(?={_ABSENCE})"

_CLAIMANT = (
    r"(?:(?:this|it|the|product|gloves?|is|are|and|made|manufactured|produced|formulated|completely|totally"
    r"|ce|produit|est|gants?|fabriqu[ée]e?s?|dieses?|produkt|ist|sind|handschuhe?|hergestellt)\s+){0,5}"
)
_CLAIMED = r"(?!\s?(?:aqua|water|eau)\b)[^,.;:()\[\]\n]{1,60}"
_LAST_CLAIMED = rf"\s(?:and|or|nor|et|ou|ni|und|oder)\s{_CLAIMED}"
# A sentence that lists what is absent: "Free from parabens, formaldehyde and perfume." Its last "and" tells
# it from a list of ingredients that begins with a claim; such a list would name water.
ABSENT_LIST = re.compile(
    rf"(?:(?<=[.!?\n])|^)[ \t]*{_CLAIMANT}{_ABSENCE}{_CLAIMED}(?:,\s{_CLAIMED}){{0,15}},?{_LAST_CLAIMED}"
    r"(?:[.!]|(?=\n)|\Z)",
    re.IGNORECASE,
)

# What whoever copied a label put for words they could not read.
_ILLEGIBLE = (
    r"(?:illegible|unreadable|not\s+(?:legible|readable)|illisible|unleserlich|unlesbar|ilegible|illeggibile"
    r"|onleesbaar|ul[æa]selig|ol[äa]sligt?)"
)
ILLEGIBLE = re.compile(rf"[\[(]\s?{_ILLEGIBLE}\s?[\])]", re.IGNORECASE)

# Where a list breaks off.
_AND_SO_ON = r"(?:etc|usw|et\s+al)"
BROKEN_OFF = re.compile(rf"(?:\.{{3,}}|…|(?<=\w\s){_AND_SO_ON}\b\.?)(?=\s*\Z)", re.IGNORECASE)
# What a page of the web leaves in a text that was copied from its source: tags, and signs spelt out.
MARKUP = re.compile(
    r"</?(?:wbr|br|[abip]|em|div|span|su[bp]|strong|font|[ou]l|li|t[dhr])\b[^<>]{0,80}>"
    r"|&(?:amp|nbsp|shy|[lg]t|quot|apos|zwn?j|#x?[0-9a-f]{1,6})\b",
    re.IGNORECASE,
)

# What says that the list leaves something out.
LEFT_OUT = re.compile(
    r"\s*+(?:see\s+(?:the\s+)?(?:pack|carton|box|label|leaflet|website)\b.*"
    r"|proprietary\s+blend|trade\s+secret|confidential(?:\s+business\s+information)?|on\s+request|no\s+data|n/a"
    rf"|{_ILLEGIBLE}|{_AND_SO_ON}|(?:among\s+)?others|\d+\s+(?:other|further|more)\s+ingredients?"
    r"|(?:not|none|nothing|nicht|non)\s+(?:available|disclosed|declared|stated|listed|angegeben|d[ée]clar[ée]e?))\W*",
    re.IGNORECASE | re.DOTALL,
)
MIXTURE_OF = re.compile(
    r"\s*+(?:reaction\s+(?:mass|products?)\s+of:?|mixture\s+of:?|\d{1,2}[.)](?=\s+[^\W\d]))\s*", re.IGNORECASE
)

# What says in which form something is there, or by which pharmacopoeia: no part of its name.
FORM = re.compile(
    r"(?:(?<!\s)\s++(?:aqueous|solution|usp|nf|bp|ph\.?\s?eur\.?))+\s*$|\(\s*\d+\s*:\s*\d+\s*\)",
    re.IGNORECASE,
)

CAS = re.compile(r"(?<![\d-])(\d{2,7}-\d{2}-\d)(?![\d-])")
_LABELS = r"(?:cas|ec|eg|einecs|elincs|index|reach)(?:\s*-?\s*(?:no|nr|number|n°|nummer|reg)\.?)*\s*[:#]?\s*"
# A CAS, EC, index or registration number with the word before it.
NUMBER = re.compile(
    rf"\b{_LABELS}(?=\d)(?:\d+(?:-\d+)+)|(?<![\w-])(?:\d{{2}}-\d{{10}}-\d{{2}}-\d{{4}}|\d{{3}}-\d{{3}}-\d{{2}}-\d"
    r"|\d{3}-\d{3}-\d|\d{2,7}-\d{2}-\d)(?![\w-])",
    re.IGNORECASE,
)
_ABOUT = r"(?:(?:ca|approx|max|min|up\s+to|bis|less\s+than)\.?\s?|[<>≤≥~=]\s?){0,2}"
_FIGURE = r"\d{1,9}(?:[.,]\d{1,9})?"
_UNIT = (
    r"(?:(?:wt|w|v|vol|m)?\s?\.?[%％](?:\s?\(?[wvm]\s?/\s?[wvm]\)?)?|per\s?cent\b|ppm\b"
    r"|(?:mg|µg|μg|mcg|g)(?:\s?/\s?(?:\d{1,4}\s?)?(?:kg|g|ml|l))?\b)"
)
AMOUNT = re.compile(
    rf"(?<![\d.,])(?P<about>{_ABOUT})(?P<range>{_FIGURE}\s?%?\s?(?:-|–|to|bis|à|\.\.\.)\s?{_ABOUT})?"
    rf"(?P<figure>{_FIGURE})\s?(?P<unit>{_UNIT})",
    re.IGNORECASE,
)
# Where the classification begins in a row of a data sheet.
HAZARD = re.compile(
    r"(?:\b(?:EU)?H[2-4]\d\d|\b(?:Acute|Asp)\.?\s*Tox|\bSkin\s+(?:Corr|Irrit|Sens)"
    r"|\bEye\s+(?:Dam|Irrit)|\bAquatic\s|\bFlam\.|\bSTOT\b|\bResp\.\s*Sens|\bMet\.\s*Corr"
    r"|\b(?:Repr|Carc|Muta)\.|\bM[- ]?factor|\bnot\s+classified).*",
    re.IGNORECASE | re.DOTALL,
)
