"""Tables as a tester keeps them: plain CSV, semicolons with decimal commas, workbooks, and instrument text.

The workbooks are written with a fixed time stamp, so that the same rows give the same bytes.
"""

import io
import zipfile
from collections.abc import Sequence
from typing import Final, Literal
from xml.sax.saxutils import escape

Cell = str | float | None
Rows = Sequence[Sequence[Cell]]
TableShape = Literal["csv", "semicolon", "xlsx", "ods", "cgats"]

SUFFIXES: Final[dict[TableShape, str]] = {
    "csv": ".csv",
    "semicolon": ".csv",
    "xlsx": ".xlsx",
    "ods": ".ods",
    "cgats": ".cgats.txt",
}
_ZIP_TIME: Final = (2026, 1, 1, 0, 0, 0)


def render_table(rows: Rows, shape: TableShape, *, title: str = "", created: str = "") -> bytes:
    """Return a table in one of the shapes; the first row is the header; numbers are densities (two decimals or more).

    `title` and `created` go into the preamble of instrument text and nowhere else.
    """
    if shape == "xlsx":
        return _render_xlsx(rows)
    if shape == "ods":
        return _render_ods(rows)
    if shape == "cgats":
        return _render_cgats(rows, title, created)
    texts = [[_text(cell) for cell in row] for row in rows]
    if shape == "semicolon":
        lines = [";".join(cell.replace(".", ",") for cell in row) for row in texts]
        return "﻿".encode() + ("\r\n".join(lines) + "\r\n").encode()
    return ("\n".join(",".join(row) for row in texts) + "\n").encode()


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return cell if isinstance(cell, str) else f"{cell:.3f}"


def _render_cgats(rows: Rows, title: str, created: str) -> bytes:
    header, *body = rows
    names = ["SAMPLE_ID", *(str(cell) for cell in header[1:])]
    lines = ["CGATS.17", 'ORIGINATOR "bench densitometer"', f'DESCRIPTOR "{title}"', f'CREATED "{created}"']
    lines += ['DIFFUSE_GEOMETRY "opal"', f"NUMBER_OF_FIELDS {len(names)}", "BEGIN_DATA_FORMAT", "\t".join(names)]
    lines += ["END_DATA_FORMAT", f"NUMBER_OF_SETS {len(body)}", "BEGIN_DATA"]
    lines += ["\t".join(_text(cell) for cell in row) for row in body]
    return ("\r\n".join([*lines, "END_DATA"]) + "\r\n").encode()


def _zipped(members: Sequence[tuple[str, str]], *, stored: Sequence[str] = ()) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, text in members:
            info = zipfile.ZipInfo(name, _ZIP_TIME)
            info.compress_type = zipfile.ZIP_STORED if name in stored else zipfile.ZIP_DEFLATED
            archive.writestr(info, text.encode())
    return buffer.getvalue()


_XML: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_OFFICE: Final = "http://schemas.openxmlformats.org"


def _render_xlsx(rows: Rows) -> bytes:
    body = "".join(
        f'<row r="{number}">'
        + "".join(_xlsx_cell(cell, f"{chr(64 + column)}{number}") for column, cell in enumerate(row, start=1))
        + "</row>"
        for number, row in enumerate(rows, start=1)
    )
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    types = (
        f'<Types xmlns="{_OFFICE}/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kind}.worksheet+xml"/></Types>'
    )
    relations = f'<Relationships xmlns="{_OFFICE}/package/2006/relationships"><Relationship Id="rId1" Type="{_OFFICE}'
    relations += '/officeDocument/2006/relationships/{kind}" Target="{target}"/></Relationships>'
    main = f"{_OFFICE}/spreadsheetml/2006/main"
    workbook = (
        f'<workbook xmlns="{main}" xmlns:r="{_OFFICE}/officeDocument/2006/relationships">'
        '<sheets><sheet name="readings" sheetId="1" r:id="rId1"/></sheets></workbook>'
    )
    sheet = f'<worksheet xmlns="{main}"><sheetData>{body}</sheetData></worksheet>'
    return _zipped(
        [
            ("[Content_Types].xml", _XML + types),
            ("_rels/.rels", _XML + relations.format(kind="officeDocument", target="xl/workbook.xml")),
            ("xl/workbook.xml", _XML + workbook),
            ("xl/_rels/workbook.xml.rels", _XML + relations.format(kind="worksheet", target="worksheets/sheet1.xml")),
            ("xl/worksheets/sheet1.xml", _XML + sheet),
        ]
    )


def _xlsx_cell(cell: Cell, address: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f'<c r="{address}" t="inlineStr"><is><t>{escape(cell)}</t></is></c>'
    return f'<c r="{address}"><v>{cell:.3f}</v></c>'


def _render_ods(rows: Rows) -> bytes:
    names = "urn:oasis:names:tc:opendocument:xmlns"
    body = "".join(
        "<table:table-row>" + "".join(_ods_cell(cell) for cell in row) + "</table:table-row>" for row in rows
    )
    content = (
        f'<office:document-content xmlns:office="{names}:office:1.0" xmlns:table="{names}:table:1.0"'
        f' xmlns:text="{names}:text:1.0" office:version="1.3"><office:body><office:spreadsheet>'
        f'<table:table table:name="readings">{body}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        f'<manifest:manifest xmlns:manifest="{names}:manifest:1.0" manifest:version="1.3">'
        f'<manifest:file-entry manifest:full-path="/" manifest:version="1.3" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
    )
    members = [("mimetype", kind), ("content.xml", _XML + content), ("META-INF/manifest.xml", _XML + manifest)]
    return _zipped(members, stored=("mimetype",))


def _ods_cell(cell: Cell) -> str:
    if cell is None:
        return "<table:table-cell/>"
    if isinstance(cell, str):
        return f'<table:table-cell office:value-type="string"><text:p>{escape(cell)}</text:p></table:table-cell>'
    text = f"{cell:.3f}"
    return (
        f'<table:table-cell office:value-type="float" office:value="{text}"><text:p>{text}</text:p></table:table-cell>'
    )
