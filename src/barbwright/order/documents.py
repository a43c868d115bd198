"""An order's page, table, note to the technician, inspection page and list of files."""

from __future__ import annotations

import base64
import csv
import dataclasses
import hashlib
import io
import textwrap
from typing import Any

from barbwright.catalog import Bit
from barbwright.design.limits import Limited
from barbwright.jobs.record import SCHEMA_VERSION, dump
from barbwright.order.quote import label, quote_rows
from barbwright.order.record import Order, OrderedPart, requirements, warnings
from barbwright.order.words import cell
from barbwright.report import cards
from barbwright.report.pages import Filters, page

COLUMNS_PER_BLOCK = 8
MOST_BLOCKS = 4
UNITS = {"step": "mm", "stl": "mm", "3mf": "mm", "pdf": "mm", "dxf": "mm"}


def millimetres(size_mm: float) -> str:
    """Return a size with the two or three decimals it needs: a limit is not rounded."""
    text = f"{size_mm:.3f}"
    return text[:-1] if text.endswith("0") else text


def limits(size: Limited) -> str:
    """Return a size as a drawing writes it: drawn, then its limits [mm]."""
    drawn, least, most = map(millimetres, (size.drawn_mm, size.least_mm, size.most_mm))
    return f"{drawn} ({least} to {most})"


def count(pieces: int) -> str:
    """Return a number of pieces in words a person would use."""
    return "1 piece" if pieces == 1 else f"{pieces} pieces"


def bit_words(some: tuple[Bit, ...]) -> str:
    """Return drills for a person: name and diameter [mm]."""
    return " or ".join(
        bit.name if bit.series == "metric" else f"{bit.name} ({bit.diameter_mm:.2f} mm)"
        for bit in some
    )


def _template(name: str, order: Order, **more: Any) -> bytes:
    filters: Filters = {"limits": limits, "bits": bit_words, "mm": millimetres, "count": count,
                        "label": label}  # fmt: skip
    return page(
        name, filters, order=order, warnings=warnings(order), cautions=cards.CAUTIONS, **more
    )


def order_html(order: Order, pictures: dict[str, bytes]) -> bytes:
    """Return the purchase sheet as one self-contained page.

    Parameters
    ----------
    order : Order
        What is ordered.
    pictures : dict of str to bytes
        PNG by part number.
    """
    inline = {
        number: "data:image/png;base64," + base64.b64encode(png).decode()
        for number, png in pictures.items()
    }
    return _template(
        "order.html",
        order,
        pictures=inline,
        requirements=requirements(order),
    )


def quote_html(order: Order) -> bytes:
    """Return the card with what print services ask before they quote, answered.

    Parameters
    ----------
    order : Order
        What is ordered.
    """
    return _template("quote_card.html", order, rows=quote_rows(order))


def inspection_html(order: Order) -> bytes:
    """Return the page to measure a delivery by, with a table to write in.

    Parameters
    ----------
    order : Order
        What was ordered.
    """
    blocks = {
        part.number: [
            list(range(start, min(start + COLUMNS_PER_BLOCK, part.sample + 1)))
            for start in range(1, part.sample + 1, COLUMNS_PER_BLOCK)
        ][:MOST_BLOCKS]
        for part in order.parts
    }
    return _template("inspection.html", order, blocks=blocks)


def order_csv(order: Order) -> bytes:
    """Return one row a part, for a spreadsheet; no cell can be taken for a formula.

    Parameters
    ----------
    order : Order
        What is ordered.
    """
    stream = io.StringIO(newline="")
    rows = [_row(position, part) for position, part in enumerate(order.parts, 1)]
    writer = csv.DictWriter(stream, list(rows[0]), quoting=csv.QUOTE_ALL)
    writer.writeheader()
    writer.writerows(rows)
    # With the mark by which spreadsheets know UTF-8.
    return stream.getvalue().encode("utf-8-sig")


def first_article_csv(order: Order) -> bytes:
    """Return a form for the first piece of each part: a row a size, numbered as on its drawing.

    Parameters
    ----------
    order : Order
        What is ordered.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, quoting=csv.QUOTE_ALL)
    writer.writerow(
        ("part_number", "revision", "number_on_drawing", "size", "measured_at", "measured_with",
         "drawn_mm", "least_mm", "most_mm", "found_mm", "within_limits", "by_whom")
    )  # fmt: skip
    for part in order.parts:
        for one in part.sizes:
            told = (part.number, part.revision, str(one.number), one.title)
            how = (one.size.where, one.size.tool)
            numbers = map(millimetres, (one.drawn_mm, one.least_mm, one.most_mm))
            writer.writerow([cell(text) for text in (*told, *how, *numbers, "", "", "")])
    return stream.getvalue().encode("utf-8-sig")


def _row(position: int, part: OrderedPart) -> dict[str, str]:
    x, y, z = part.box_mm
    row = {
        "position": str(position),
        "part_number": part.number,
        "revision": part.revision,
        "description": part.title,
        "grade": part.grade,
        "status": part.status,
        "quantity": str(part.quantity),
        "spares": str(part.spares),
        "to_break": str(part.broken),
        "pieces": str(part.pieces),
        "process_iso_astm_52900": part.material.process_52900,
        "process_trade_name": part.material.trade_name,
        "material": part.material_name,
        "finish": part.finish,
        "solidity": part.solidity,
        "build_direction_iso_17295": part.build_direction,
        "volume_mm3": f"{part.volume_mm3:.0f}",
        "box_x_mm": f"{x:.2f}",
        "box_y_mm": f"{y:.2f}",
        "box_z_mm": f"{z:.2f}",
        "mass_g": f"{part.mass_g:.2f}",
        "critical_dimensions_mm": "; ".join(
            f"({size.number}) {size.title} {limits(size)}" for size in part.sizes
        ),
        "rod_test": "; ".join(f"{pin.bore.title}: {bit_words(pin.go)}" for pin in part.pins),
        "models": part.compensation or "as drawn",
        "engraved": part.mark,
        "files": "; ".join(part.files()),
        "label": label(part),
        "note": part.note,
    }
    return {name: cell(text) for name, text in row.items()}


def readme_txt(order: Order) -> bytes:
    """Return the note to the technician, 78 columns.

    Parameters
    ----------
    order : Order
        What is ordered.
    """

    def fill(text: str, first: str = "", rest: str = "") -> str:
        return textwrap.fill(text, 78, initial_indent=first, subsequent_indent=rest)

    lines = [order.name.upper() if not order.passed else order.name, ""]
    lines += [fill(text) for text in warnings(order)]
    if order.title:
        lines += ["", fill(order.title)]
    lines += ["", f"{count(order.pieces)}, part numbers: {len(order.parts)}.", ""]
    for position, part in enumerate(order.parts, 1):
        head = f"{position}. {part.number}"
        lines += [
            head if part.passed else f"{head}  ** NOT PASSED **",
            fill(f"{part.counted} pieces, revision {part.revision}, {part.title}", "   ", "   "),
            fill(f"{part.process}, {part.material_name}", "   ", "   "),
            fill(f"Finish: {part.finish}", "   ", "   "),
            fill(f"Build direction: {part.build_direction}", "   ", "   "),
        ]  # fmt: skip
        if part.finish_limits:
            lines.append(fill(f"Limits of the finish: {part.finish_limits}", "   ", "   "))
        if part.compensation:
            lines.append(fill(f"Files: {part.compensation}", "   ", "   "))
        if part.note:
            lines.append(fill(f"Note: {part.note}", "   ", "   "))
        lines.append("")
    lines += ["For the technician"]
    lines += [fill(text, "- ", "  ") for text in requirements(order)]
    lines += [
        "",
        "What is in here (all lengths in millimetres)",
        "  order.pdf, order.html   the purchase sheet, a page a part",
        "  order.csv               the same as a table (UTF-8)",
        "  quote_card.html         what is asked before a quotation, answered",
        "  first_article.csv       what to report of a first piece, numbered as drawn",
        "  inspection.html         how a delivery is measured, with a table to write in",
        "  step/ stl/ 3mf/         the same parts three times; use one of the folders",
        "  order-..._mm.3mf        every piece of the order in one file, as it is built",
    ]
    if any("pdf" in part.verified.files for part in order.parts):
        lines.append("  drawings/               a dimensioned drawing of each part")
    lines += [
        "  manifest.json           size, SHA-256 checksum and unit of each file",
        "",
        fill("Every model was read back before it was packed: STEP as one valid solid, STL and "
             "3MF as one closed body, its diameters and walls measured on the mesh. Should your "
             "software ask to repair a file, it was damaged on its way: compare its checksum."),
        "",
    ]  # fmt: skip
    return "\n".join(lines).encode()


def manifest_json(order: Order, files: dict[str, bytes]) -> bytes:
    """Return the list of all files: path, size, checksum, unit.

    Parameters
    ----------
    order : Order
        What is ordered.
    files : dict of str to bytes
        Content by path, the manifest itself left out.
    """
    body = {
        "schema_version": SCHEMA_VERSION,
        "order": order.number,
        "unit": "mm",
        "passed": order.passed,
        "pieces": order.pieces,
        "buyer": dataclasses.asdict(order.buyer),
        "notice": list(warnings(order)),
        "parts": [
            {
                "part_number": part.number,
                "revision": part.revision,
                "description": part.title,
                "grade": part.subject.grade or None,
                "passed": part.passed,
                "quantity": part.quantity,
                "spares": part.spares,
                "to_break": part.broken,
                "finish": part.finish,
                "note": part.note,
                "compensation": part.drawn_off,
                "volume_mm3": round(part.volume_mm3, 3),
                "box_mm": [round(side, 3) for side in part.box_mm],
                "mass_g": round(part.mass_g, 3),
                "record_sha256": part.verified.record_sha256,
                "versions": part.subject.body.get("versions", {}),
            }
            for part in order.parts
        ],
        "files": [
            {
                "path": path,
                "format": path.rsplit(".", 1)[-1],
                "unit": UNITS.get(path.rsplit(".", 1)[-1], ""),
                "bytes": len(content),
                "sha256": hashlib.sha256(content).hexdigest(),
            }
            for path, content in sorted(files.items())
        ],
    }
    return dump(body)
