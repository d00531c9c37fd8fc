"""Small workbooks made by hand from their parts, as ECMA-376 describes them."""

import io
import zipfile
from collections.abc import Iterable, Mapping
from xml.sax.saxutils import escape

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKED = "http://schemas.openxmlformats.org/package/2006/relationships"
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_TYPES = f"""<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Override PartName="/xl/workbook.xml" ContentType="{_TYPE}.sheet.main+xml"/>
<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{_TYPE}.worksheet+xml"/>
<Override PartName="/xl/worksheets/sheet2.xml" ContentType="{_TYPE}.worksheet+xml"/>
</Types>"""
_SHARED = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{_TYPE}.sharedStrings+xml"/></Types>'
_BOOK = f"""<workbook xmlns="{MAIN}" xmlns:r="{_LINKS}"><sheets>
<sheet name="Old" sheetId="1" state="hidden" r:id="r1"/><sheet name="Products" sheetId="2" r:id="r2"/>
</sheets></workbook>"""
_TARGETS = f"""<Relationships xmlns="{_PACKED}">
<Relationship Id="r1" Type="{_LINKS}/worksheet" Target="worksheets/sheet1.xml"/>
<Relationship Id="r2" Type="{_LINKS}/worksheet" Target="/xl/worksheets/sheet2.xml"/>
</Relationships>"""


def text_cell(place: str, text: str) -> str:
    """A cell that holds a text itself."""
    return f'<c r="{place}" t="inlineStr"><is><t>{escape(text)}</t></is></c>'


def sheet(rows: Iterable[Iterable[str]]) -> str:
    """A sheet of such cells, row for row."""
    lines = []
    for number, row in enumerate(rows, 1):
        cells = [text_cell(f"{chr(65 + place)}{number}", text) for place, text in enumerate(row) if text]
        lines.append(f'<row r="{number}">{"".join(cells)}</row>')
    return of_rows("".join(lines))


def of_rows(rows: str) -> str:
    """A sheet around rows written out."""
    return f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'


def workbook(shown: str, other: Mapping[str, str] | None = None) -> bytes:
    """A workbook whose second sheet is the first shown; `other` parts replace or add to it."""
    shares = "xl/sharedStrings.xml" in (other or {})
    parts = {
        "[Content_Types].xml": _TYPES.replace("</Types>", _SHARED) if shares else _TYPES,
        "xl/workbook.xml": _BOOK,
        "xl/_rels/workbook.xml.rels": _TARGETS,
        "xl/worksheets/sheet1.xml": of_rows('<row r="1"><c r="A1"><v>1</v></c></row>'),
        "xl/worksheets/sheet2.xml": shown,
    } | dict(other or {})
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in parts.items():
            packed.writestr(name, content)
    return made.getvalue()
